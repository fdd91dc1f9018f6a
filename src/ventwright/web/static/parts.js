// Parts of a plan and instruments, typed in one dialog. Every change is kept on this phone first; the
// server's own parser says what is wrong with a field, and there is no other.
import { make } from "./dom.js";
import { field } from "./fields.js";
import { habits } from "./habits.js";
import { newId } from "./ids.js";
import { styleOf } from "./numbers.js";
import * as outbox from "./outbox.js";

const LONGEST_WAIT_MS = 6000;
const settled = new Map();
let count = 0;

outbox.watch((items, trouble, item, answer) => {
  if (item && settled.has(item.id)) settled.get(item.id)({ item, answer });
  else if (trouble) for (const tell of settled.values()) tell({ trouble });
});

/** Send a change and say what became of it: acknowledged, refused, or kept until the server answers. */
async function hand(address, body, label) {
  const id = newId();
  const told = new Promise((tell) => {
    settled.set(id, tell);
    setTimeout(() => tell({ trouble: "the server does not answer" }), LONGEST_WAIT_MS);
  });
  await outbox.put({ id, address, label, body: { id, by: habits().by, ...body }, made: Date.now() });
  const end = await told;
  settled.delete(id);
  return end;
}

// ---- fields that only plans have
const labelled = (spec, id, inside) => make("div", {}, make("label", { for: id }, spec.label), inside);

function dated(spec, given, id) {
  const input = make("input", { id, type: "date" });
  input.value = given ?? "";
  return { spec, element: labelled(spec, id, input), focus: () => input.focus(), value: () => input.value || undefined };
}

function words(spec, given, id) {
  const boxes = spec.choices.map(([value, label], i) => [value, make("input", { type: "checkbox", id: `${id}-${i}`, checked: (given ?? []).includes(value) }), label]);
  const element = make("fieldset", { class: "words" }, make("legend", {}, spec.label), ...boxes.map(([, box, label]) => make("label", { for: box.id, class: "truth" }, box, label)));
  return { spec, element, focus: () => boxes[0]?.[1].focus(), value: () => boxes.filter(([, box]) => box.checked).map(([value]) => value) };
}

/** A short table: one line a point, one column a quantity, the unit of measure chosen once a column. */
function lines(spec, given, id) {
  const rows = (given ?? []).map((row) => row.map((text) => /^(\S*)\s*(.*)$/.exec(text)));
  const symbols = spec.columns.map((column, i) => {
    const now = rows[0]?.[i]?.[2];
    const offered = [...new Set([...(now ? [now] : []), ...column.symbols])];
    return make("select", { "aria-label": `Unit of ${column.label}` }, ...offered.map((one) => make("option", {}, one)));
  });
  const box = make("div", { class: "lines" });
  const typed = [];
  const add = (row = []) => {
    const inputs = spec.columns.map((column, i) => {
      const input = make("input", { inputmode: "decimal", autocomplete: "off", "aria-label": `${column.label}, line ${typed.length + 1}` });
      input.value = row[i]?.[1] ?? "";
      return input;
    });
    typed.push(inputs);
    box.append(...inputs);
    return inputs[0];
  };
  box.append(...spec.columns.map((column) => make("span", {}, column.label)), ...symbols);
  for (const row of rows) add(row);
  if (!rows.length) add();
  const more = make("button", { type: "button", id, onclick: () => add().focus() }, "+ another line");
  return {
    spec,
    element: make("div", {}, make("label", { for: id }, spec.label), box, more),
    focus: () => typed[0][0].focus(),
    value: () => typed.filter((row) => row.some((input) => input.value.trim())).map((row) => Object.fromEntries(row.flatMap((input, i) => (input.value.trim() ? [[spec.columns[i].key, `${input.value.trim()} ${symbols[i].value}`]] : [])))),
  };
}

function fieldOf(form, spec, given) {
  const id = `p${(count += 1)}`;
  if (spec.kind === "date") return dated(spec, given, id);
  if (spec.kind === "words") return words(spec, given, id);
  if (spec.kind === "lines") return lines(spec, given, id);
  return field(form, spec, given === undefined ? {} : { [spec.key]: given }, { fresh: false });
}

const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);
const digits = (value) => [value ?? []].flat().flatMap((one) => (typeof one === "string" ? [one] : typeof one === "object" ? Object.values(one) : [])).map((one) => one.split(" ")[0]);

/** Fields of one record inside another stand together, folded until they are wanted. */
function grouped(fields, texts) {
  const groups = new Map();
  const inside = [];
  for (const one of fields) {
    const [table, inner] = one.spec.key.split(".");
    if (!inner || !one.isApart) {
      inside.push(one.element);
      continue;
    }
    if (!groups.has(table)) {
      const name = one.spec.label.split(":")[0];
      const box = make("details", { class: "setup", open: Object.keys(texts).some((key) => key.startsWith(`${table}.`)) }, make("summary", {}, name));
      groups.set(table, box);
      inside.push(box);
    }
    groups.get(table).append(one.element);
  }
  return inside;
}

/**
 * Open the form of a part. `post({ texts, number_style, isRemoval })` gives `[address, body, label]`;
 * `below` are elements under the form; `after(end)` is called once the record has the change.
 */
export function openPart({ form, texts = {}, isNew, title, note = "", offer = {}, propose, post, remove, below = [], after, kept }) {
  const specs = form.fields
    .filter((spec) => isNew || spec.key !== "id")
    .map((spec) => (offer[spec.key] ? { ...spec, kind: "choice", choices: offer[spec.key] } : spec));
  const fields = specs.map((spec) => ({ ...fieldOf(form, spec, texts[spec.key]), isApart: spec.label.includes(": ") && spec.key.includes(".") }));
  const before = new Map(fields.map((one) => [one.spec.key, isNew ? undefined : one.value()]));
  const says = make("p", { role: "alert", class: "say" });
  const save = make("button", { class: "main" }, "Save");
  const typedNow = () => Object.fromEntries(fields.map((one) => [one.spec.key, one.value()]));
  const changed = () => Object.fromEntries(Object.entries(typedNow()).filter(([key, value]) => !same(value, before.get(key)) && !(isNew && (value === undefined || same(value, [])))).map(([key, value]) => [key, value === undefined ? null : value]));

  const clear = () => {
    says.textContent = "";
    for (const one of fields) {
      one.element.classList.remove("wrong");
      one.element.querySelector(".why")?.remove();
    }
  };
  const tell = ({ problems, message }) => {
    clear();
    const rest = [];
    let first = null;
    for (const problem of problems ?? []) {
      const place = problem.where.replace(/\[.*$/, "");
      const one = fields.find((each) => each.spec.key === place) ?? fields.find((each) => each.spec.key === place.split(".").at(-1));
      const why = `${problem.message}${problem.remedy ? `; ${problem.remedy}` : ""}`;
      if (!one) {
        rest.push(problem.where ? `${problem.where}: ${why}` : why);
        continue;
      }
      const words = make("small", { class: "why", id: `${count += 1}-why` }, why);
      one.element.classList.add("wrong");
      one.element.append(words);
      one.element.closest("details")?.setAttribute("open", "");
      one.element.querySelector("input, select, textarea")?.setAttribute("aria-describedby", words.id);
      first ??= one;
    }
    says.textContent = rest.length ? rest.join("; ") : first ? "See the fields marked below." : message;
    first?.focus();
  };

  const run = async (isRemoval) => {
    clear();
    const change = isRemoval ? {} : changed();
    if (!isRemoval && !isNew && !Object.keys(change).length) {
      dialog.close();
      return;
    }
    save.disabled = true;
    says.textContent = "Saving …";
    const numbers = fields.filter((one) => one.spec.key in change && ["quantity", "lines"].includes(one.spec.kind)).flatMap((one) => digits(change[one.spec.key]));
    const end = await hand(...post({ texts: change, number_style: styleOf(numbers, habits().number_style), isRemoval }));
    if (end.trouble) {
      dialog.close();
      kept?.();
    } else if (end.answer.code) {
      // What was typed still stands in the form; nothing of it waits elsewhere.
      await outbox.drop(end.item.place);
      tell(end.answer);
    } else {
      await after?.(end);
      dialog.close();
    }
    save.disabled = false;
  };

  const foot = remove ? make("button", { type: "button", class: "quiet", onclick: () => confirm(remove) && run(true) }, "Take out") : null;
  const dialog = make("dialog", { "aria-labelledby": "part-title", class: "part" }, make("form", {
    novalidate: true,
    onsubmit: (event) => {
      event.preventDefault();
      if (!save.disabled) run(false);
    },
  },
  make("div", { class: "row" }, make("h2", { id: "part-title" }, title ?? form.label), make("button", { type: "button", "aria-label": "Close without saving", onclick: () => dialog.close() }, "✕")),
  note ? make("p", { class: "note" }, note) : null, says, ...grouped(fields, texts), save, foot), ...below);
  propose?.(Object.fromEntries(fields.map((one) => [one.spec.key, one.element.querySelector("input, select, textarea")])));
  dialog.addEventListener("close", () => dialog.remove());
  document.querySelector("dialog.part")?.close();
  document.body.append(dialog);
  dialog.showModal();
  fields[0]?.focus();
  return dialog;
}

/** A short name from words: "Main bedroom" → "main-bedroom". */
export const shortName = (text) => text.toLowerCase().normalize("NFKD").replace(/\p{M}/gu, "").replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-|-$/g, "").slice(0, 40);
