// How this person reads and types; kept on the phone.
const PREFIX = "ventwright.";

export const recall = (key, otherwise = "") => localStorage.getItem(PREFIX + key) ?? otherwise;
export const remember = (key, value) => localStorage.setItem(PREFIX + key, value);

const isImperial = /^en-(US|LR|MM)/.test(navigator.language);
const hasComma = (1.5).toLocaleString(navigator.language).includes(",");

export const habits = () => ({
  preference: recall("preference", isImperial ? "ip" : "si_m3h"),
  number_style: recall("number_style", hasComma ? "decimal_comma" : "decimal_point"),
  by: recall("technician"),
});
