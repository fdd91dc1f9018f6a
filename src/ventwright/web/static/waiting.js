// What waits on this phone, said in words on every page that has an outbox.
import { byId, make } from "./dom.js";
import * as outbox from "./outbox.js";

const LATE_MS = 5000;
const NO_STORAGE = "The browser's storage does not answer, so nothing typed here could be kept. Close all pages of this address and open it again.";
// A page that is left while its storage is being made can leave it stuck for the next one.
const late = setTimeout(() => {
  byId("outbox").textContent = "No storage";
  byId("outbox").classList.add("waits");
  (document.getElementById("age") ?? document.querySelector("main")).prepend(make("span", { role: "alert" }, NO_STORAGE));
}, LATE_MS);
outbox.isOpen.then(() => clearTimeout(late), () => {});

const READ = ["velocities", "drops", "flows", "velocity_pressures", "temperature", "rel_humidity", "power", "pressure_diff", "pressure"];

/** The digits of a reading, as typed. */
export const digitsOf = (typed) => READ.filter((one) => typed[one] !== undefined).map((one) => [typed[one]].flat(2).join(", ")).join("; ");

function words(item) {
  if (item.label) return item.label;
  if (item.photo) return "Photo";
  const { kind, texts } = item.body;
  return `${kind.replaceAll("_", " ")} ${texts.station ?? ""} ${digitsOf(texts)}`;
}

const reasons = ({ problems, message }) => problems?.map((one) => `${one.message} ${one.remedy}`).join("; ") || message;

/** The plain count at the top, and each item that waits or was refused in `box`. */
export function showWaiting(box, items, trouble) {
  const refused = items.filter((one) => one.refused).length;
  const count = items.length - refused;
  const badge = byId("outbox");
  badge.textContent = count || refused ? `${count} waiting${refused ? `, ${refused} refused` : ""}` : "All sent";
  badge.classList.toggle("waits", Boolean(count || refused));
  badge.title = trouble;
  box.replaceChildren(...items.map((item) => make("div", { class: "past" },
    make("span", {}, `${words(item)}: ${item.refused ? `refused, ${reasons(item.refused)}` : "waits"}`),
    item.refused ? make("button", { type: "button", onclick: () => confirm("Throw this entry away? It is nowhere else.") && outbox.drop(item.place) }, "Throw away") : null)));
}

/** The browser asks before a page is left on which something is not sent yet. */
export function warnWhile(isWaiting) {
  addEventListener("beforeunload", (event) => {
    if (isWaiting()) event.preventDefault();
  });
}
