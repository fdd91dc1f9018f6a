// The walk-through: one row an item, one tap an outcome.
import { make } from "./dom.js";
import { hand, openForm } from "./entry.js";

export function showWalk(box, page, visit) {
  const form = page.forms.find((one) => one.name === "walk_through");
  const items = form.fields.find((one) => one.key === "item").choices;
  const outcomes = form.fields.find((one) => one.key === "outcome").choices;
  const open = box.querySelector("details")?.open ?? false;
  const standing = new Map();
  for (const one of page.standing.filter((entry) => entry.kind === "walk_through")) {
    const texts = Object.fromEntries(one.texts);
    standing.set(texts.item, { id: one.id, texts });
  }
  const done = [...standing.keys()].length;
  const focused = box.contains(document.activeElement) ? document.activeElement.id : null;
  box.replaceChildren(make("details", { open }, make("summary", {}, `Walk-through, ${done} of ${items.length} looked at`), ...items.map(([item, label]) => {
    const before = standing.get(item);
    return make("fieldset", {}, make("legend", {}, label), make("div", { class: "choice" }, ...outcomes.map(([outcome, word]) => make("button", {
      type: "button", id: `walk-${item}-${outcome}`, "aria-pressed": before?.texts.outcome === outcome ? "true" : "false",
      onclick: () => choose(visit, form, item, label, outcome, before),
    }, word))));
  })));
  if (focused) document.getElementById(focused)?.focus();
}

async function choose(visit, form, item, label, outcome, before) {
  const more = before ? { supersedes: before.id } : {};
  if (outcome !== "fault") {
    const { place, note } = before?.texts ?? {};
    await hand(visit, "walk_through", { item, outcome, ...(place ? { place } : {}), ...(note ? { note } : {}) }, more);
    return;
  }
  openForm({ visit, form, texts: before?.texts ?? {}, fixed: { item, outcome }, more, title: label, note: "What is wrong, and where?" });
}
