// Instruments of a visit that has begun: which are carried, and the firm's others to take along.
import { make } from "./dom.js";
import { habits } from "./habits.js";
import { newId } from "./ids.js";
import * as outbox from "./outbox.js";

async function known() {
  const { preference, number_style } = habits();
  const key = JSON.stringify(["instruments", preference, number_style]);
  try {
    const answer = await fetch(`/api/instruments?${new URLSearchParams({ preference, number_style })}`, { cache: "no-store" });
    if (!answer.ok) throw new Error(String(answer.status));
    const found = await answer.json();
    await outbox.keepPage(key, found);
    return found.instruments;
  } catch {
    return (await outbox.keptPage(key))?.instruments ?? [];
  }
}

export async function openCarried({ visit, house, carried, toast }) {
  const here = new Set(carried.map(([id]) => id));
  const take = async (one) => {
    const id = newId();
    const address = `/api/visits/${encodeURIComponent(visit)}/instruments`;
    await outbox.put({ id, visit, address, label: `Instrument ${one.title}`, body: { id, instrument_id: one.path[0], by: habits().by }, made: Date.now() });
    dialog.close();
    toast(`${one.title}: kept on this phone.`);
  };
  const firm = await known();
  const button = (one) => make("button", { type: "button", class: "station part", "data-instrument": one.path[0], onclick: () => take(one) }, make("b", {}, one.title), make("span", { class: "said" }, here.has(one.path[0]) ? "renew" : "take along"), one.note ? make("span", { class: "aside" }, one.note) : null);
  const dialog = make("dialog", { "aria-labelledby": "carry-title", id: "carried" },
    make("div", { class: "row" }, make("h2", { id: "carry-title" }, "Instruments"), make("button", { type: "button", "aria-label": "Close", onclick: () => dialog.close() }, "✕")),
    make("h3", {}, "Carried on this visit"),
    make("ul", { class: "plain" }, ...(carried.length ? carried.map(([, name]) => make("li", {}, name)) : [make("li", {}, "None is named.")])),
    make("h3", {}, "The firm's, as known now"),
    ...firm.map(button),
    firm.length ? null : make("p", {}, "None is registered, or the server does not answer."),
    make("p", {}, make("a", { class: "button", href: `/houses/${encodeURIComponent(house)}#h-instruments` }, "Register or change one")));
  dialog.addEventListener("close", () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
}
