// What stands open and takes a person: entries that contradict each other, faults not yet mended.
import { byId, make } from "./dom.js";
import { hand } from "./entry.js";
import { habits } from "./habits.js";

/** Entries that contradict each other: a person says which stands. */
export function showContests(page, at, after) {
  byId("contests").replaceChildren(...page.contests.map((choices) => make("fieldset", { class: "contest" }, make("legend", {}, "Two entries contradict each other. Which one stands?"), ...choices.map((one) => make("button", {
    type: "button", onclick: () => decide(at, one, choices, after),
  }, `${one.kind.replaceAll("_", " ")} (entry ${one.number}): ${one.text}`)))));
}

async function decide(at, kept, choices, { toast, refresh }) {
  const dropped_sha256 = choices.map((one) => one.sha256).filter((one) => one !== kept.sha256);
  try {
    const answer = await fetch(`${at}/decisions`, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify({ kept_sha256: kept.sha256, dropped_sha256, by: habits().by }),
    });
    if (!answer.ok) throw new Error((await answer.json()).message);
    toast("Decided; the other stays in the record, out of force.");
    refresh();
  } catch (trouble) {
    toast(`Not decided: ${trouble.message}`);
  }
}

/** Faults that are not mended yet: one tap says that they are, in an entry of its own. */
export function showFaults(page, visit, toast) {
  const faults = page.standing.filter((one) => one.kind === "fault").map((one) => ({ ...one, texts: Object.fromEntries(one.texts) }));
  byId("faults").replaceChildren(...faults.filter((one) => one.texts.is_mended !== "true").map(({ id, record_id, texts }) => make("button", {
    type: "button",
    onclick: async () => {
      const { what, where, who } = texts;
      await hand(visit, "fault", { what, ...(where ? { where } : {}), ...(who ? { who } : {}), is_mended: true }, { supersedes: id, record_id });
      toast("Mended; kept on this phone.");
    },
  }, `Mended: ${texts.what}`)));
}

/** Remarks, as they were typed. */
export function showNotes(page) {
  const notes = page.standing.filter((one) => one.kind === "note").map((one) => Object.fromEntries(one.texts));
  byId("notes").replaceChildren(...notes.map(({ text, where }) => make("li", {}, make("b", {}, "note: "), where ? `${where}: ${text}` : text)));
}
