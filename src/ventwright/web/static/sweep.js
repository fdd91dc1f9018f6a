// Timed average: samples typed one after another while the probe moves; the mean and how long to go on.
import { make } from "./dom.js";
import { habits } from "./habits.js";
import { isNumber } from "./numbers.js";

export function openSweep() {
  const samples = [];
  const times = [];
  const input = make("input", { inputmode: "decimal", autocomplete: "off", id: "sweep-sample" });
  const goal = make("select", { id: "sweep-goal" }, ...[["0.01", "1 %"], ["0.02", "2 %"], ["0.05", "5 %"]].map(([value, label]) => make("option", { value, selected: value === "0.02" }, label)));
  const say = make("p", { role: "status" }, "Type what the meter shows every few seconds while the probe moves; keep the pace even.");
  const add = async (event) => {
    event.preventDefault();
    const text = input.value.trim();
    if (!isNumber(text)) {
      say.textContent = "Type a number.";
      return;
    }
    samples.push(Number(text.replace(",", ".").replace("−", "-")));
    times.push(Date.now());
    input.value = "";
    input.focus();
    if (samples.length < 2) {
      say.textContent = "One sample.";
      return;
    }
    const interval_s = Math.max((times.at(-1) - times[0]) / 1000 / (samples.length - 1), 0.001);
    try {
      const answer = await fetch("/api/sweep", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ samples, interval_s, wanted_frac: Number(goal.value), number_style: habits().number_style }) });
      const told = await answer.json();
      say.textContent = told.message;
    } catch {
      const mean = samples.reduce((sum, one) => sum + one, 0) / samples.length;
      say.textContent = `Mean ${mean.toPrecision(4)} of ${samples.length}; the server does not answer, so how steady it is can't be said.`;
    }
  };
  const dialog = make("dialog", { "aria-labelledby": "sweep-title" }, make("form", { onsubmit: add, novalidate: true },
    make("div", { class: "row" }, make("h2", { id: "sweep-title" }, "Timed average"), make("button", { type: "button", "aria-label": "Close", onclick: () => dialog.close() }, "✕")),
    make("label", { for: "sweep-goal" }, "Wanted uncertainty of the mean (k = 2)"), goal,
    make("label", { for: "sweep-sample" }, "Sample"), input, make("button", { class: "main" }, "Add sample"), say));
  dialog.addEventListener("close", () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
  input.focus();
}
