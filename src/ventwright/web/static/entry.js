// The one dialog in which things are typed. Tap, digits, save.
import { byId, make } from "./dom.js";
import { drawing } from "./draw.js";
import { field } from "./fields.js";
import { habits } from "./habits.js";
import { newId, now } from "./ids.js";
import { styleOf } from "./numbers.js";
import { put } from "./outbox.js";
import { openSweep } from "./sweep.js";

const dialog = byId("entry");
let current = null;

byId("entry-close").addEventListener("click", () => dialog.close());
byId("entry-form").addEventListener("submit", async (event) => {
  event.preventDefault();
  await save();
});

/** Hand an entry to the outbox; resolves once it is kept on the phone. */
export async function hand(visit, kind, texts, more = {}, numbers = []) {
  const { preference, number_style, by } = habits();
  const id = newId();
  const body = { id, kind, texts, at: now(), by, preference, number_style: styleOf(numbers, number_style), ...more };
  const address = `/api/visits/${encodeURIComponent(visit)}/entries`;
  await put({ id, visit, address, body, made: Date.now() });
  return id;
}

/** The same for a signature that was drawn: its words go with the drawing. */
async function handDrawn(visit, texts, picture) {
  const id = newId();
  const words = new URLSearchParams({ ...texts, at: now() });
  const address = `/api/visits/${encodeURIComponent(visit)}/signatures/${id}?${words}`;
  await put({ id, visit, address, photo: picture, label: `Signature of ${texts.name ?? ""}`, made: Date.now() });
  return id;
}

function show({ title, note = "", past = [] }) {
  byId("entry-title").textContent = title;
  byId("entry-note").textContent = note;
  byId("entry-say").textContent = "";
  byId("entry-past").replaceChildren(...past);
  if (!dialog.open) dialog.showModal();
}

function lay(fields) {
  const box = byId("entry-fields");
  const top = fields.filter((one) => !one.folded);
  const rest = fields.filter((one) => one.folded);
  const inside = top.map((one) => one.element);
  if (rest.length) inside.push(make("details", { class: "setup" }, make("summary", {}, "More, as last time"), ...rest.map((one) => one.element)));
  box.replaceChildren(...inside);
  top[0]?.focus();
}

async function save() {
  const { fields, extra, done, visit, kind, more, samples, drawn } = current;
  const fault = fields.map((one) => one.fault()).find(Boolean);
  if (fault) {
    byId("entry-say").textContent = fault;
    return;
  }
  const texts = { ...extra() };
  for (const one of fields) {
    const value = one.value();
    if (value !== undefined) texts[one.spec.key] = value;
  }
  // Samples belong to the mean they gave: typed over, it stands alone.
  if (samples && [texts[samples.key]].flat().join() === samples.text) Object.assign(texts, samples.texts);
  const numbers = fields.filter((one) => one.spec.kind === "quantity").flatMap((one) => [one.value() ?? []].flat(2)).map((one) => one.split(" ")[0]);
  const picture = await drawn?.picture();
  const id = picture ? await handDrawn(visit, texts, picture) : await hand(visit, kind, texts, more, numbers);
  dialog.close();
  done?.(id, texts);
}

/** Type something other than a reading: conditions, a note, a fault, what was turned. */
export function openForm({ visit, form, texts = {}, fixed = {}, more = {}, title, note, done, kindOf }) {
  const specs = form.fields.filter((spec) => !(spec.key in fixed));
  const fields = specs.map((spec) => field(form, spec, texts, { fresh: false }));
  const target = fields.find((one) => one.spec.key === "target");
  const extra = () => (kindOf ? { ...fixed, kind: kindOf(target.value()) } : fixed);
  const drawn = form.name === "signature" ? drawing("Drawn signature, if wanted") : undefined;
  current = { fields, extra, done, visit, kind: form.name, more, drawn };
  lay(fields);
  if (drawn) byId("entry-fields").append(drawn.element);
  show({ title: title ?? form.label, note });
}

// Of these a meter's display flutters; the others are counted or looked up.
const AVERAGED = ["velocity", "pressure", "flow", "temperature", "fraction", "power"];

/** Whether a field takes a value that a timed average could give. */
export const canAverage = (spec, dimension = spec.dimension) => AVERAGED.includes(spec.dimension) && spec.kind === "quantity" && !spec.is_setup && !spec.is_grid && spec.dimension === dimension;

/** Put a timed average into the field it is for, with how long it took; its samples go with it. */
function fill(one, fields, average) {
  one.set(average.text);
  const duration = fields.find((other) => other.spec.key === "duration");
  if (duration && average.elapsed_s >= 1) duration.set(`${Math.round(average.elapsed_s)} s`);
  current.samples = { key: one.spec.key, text: average.text, texts: average.samples(one.spec.key) };
}

function withAverage(one, fields) {
  const begin = () => openSweep({
    title: `Timed average: ${one.spec.label}`, symbols: [...new Set([one.symbol(), ...one.spec.symbols])], dimension: one.spec.dimension,
    done: (average) => fill(one, fields, average),
  });
  one.element.append(make("button", { type: "button", class: "average", onclick: begin }, "Timed average"));
}

/** Type a reading at a station; `average` is one taken before, put in where it fits. */
export function openReading({ visit, station, forms, instruments, setting, phase, memory, correct, past, average, done }) {
  const last = correct ?? memory;
  const methods = station.methods.map((name) => forms[name]);
  const suits = (one) => !average || one.fields.some((spec) => canAverage(spec, average.dimension));
  const form = [forms[last.method], ...methods].find((one) => one && methods.includes(one) && suits(one)) ?? methods[0];
  const note = [station.note, ...station.hints].filter(Boolean).join(" · ");
  const build = (chosen) => {
    const texts = chosen.name === last.method ? last.texts : {};
    const fields = chosen.fields.map((spec) => {
      const one = field(chosen, spec, texts, { fresh: !spec.is_setup && !correct });
      const known = spec.is_setup && one.value() !== undefined;
      one.folded = known || !spec.is_needed;
      return one;
    });
    fields.sort((a, b) => Number(a.folded) - Number(b.folded) || Number(a.spec.is_setup) - Number(b.spec.is_setup));
    for (const one of fields) if (canAverage(one.spec) && one.spec.is_needed) withAverage(one, fields);
    current = {
      fields, visit, kind: "reading", done,
      extra: () => ({
        station: station.key, setting, phase, method: chosen.name,
        ...(station.system ? { system: station.system } : {}),
        ...(instrument.value ? { instrument: instrument.value } : {}),
      }),
      more: correct ? { supersedes: correct.id, reason: "corrected on site" } : {},
    };
    const meant = average && fields.find((one) => canAverage(one.spec, average.dimension));
    if (meant) fill(meant, fields, average);
    lay([head, ...fields]);
    fields[0]?.focus();
  };
  const method = make("select", { id: "entry-method" }, ...methods.map((one) => make("option", { value: one.name, selected: one === form }, one.label)));
  const instrument = make("select", { id: "entry-instrument" }, make("option", { value: "" }, "no instrument named"), ...instruments.map(([id, name]) => make("option", { value: id, selected: id === last.instrument }, name)));
  method.addEventListener("change", () => build(forms[method.value]));
  const head = {
    folded: false, focus() {},
    element: make("details", { open: !last.method }, make("summary", {}, `${form.label}${last.instrument ? ` · ${instruments.find(([id]) => id === last.instrument)?.[1] ?? last.instrument}` : ""}`),
      make("label", { for: "entry-method" }, "Method"), method, make("label", { for: "entry-instrument" }, "Instrument"), instrument),
  };
  show({ title: station.title, note, past });
  build(form);
}
