// The house page: its plan part by part, the firm's instruments, and where a visit is begun. It shows
// the last plan it was given and what was typed since, and never leaves by itself while that waits.
import { byId, make, unbroken } from "./dom.js";
import { habits, recall, remember } from "./habits.js";
import { newId, now } from "./ids.js";
import * as outbox from "./outbox.js";
import { openPart, shortName } from "./parts.js";
import { showWaiting, warnWhile } from "./waiting.js";

const house = byId("main").dataset.house;
const at = `/api/houses/${encodeURIComponent(house)}`;
const SHOWN = new Set(["rooms", "systems", "fan_settings", "branches", "terminals", "surfaces", "combustion_appliances", "other_exhausts"]);
let page = null;
let firm = null;
let waiting = [];

async function fetched(address, key) {
  const { preference, number_style } = habits();
  const answer = await fetch(`${address}?${new URLSearchParams({ preference, number_style })}`, { cache: "no-store" });
  if (answer.status === 401) await outbox.forgetPages();
  if (!answer.ok) throw new Error(String(answer.status));
  const found = await answer.json();
  await outbox.keepPage(key, found);
  return found;
}

const keyOf = (what) => JSON.stringify([what, habits().preference, habits().number_style]);

let refreshing = null;
function refresh() {
  refreshing ??= renew().finally(() => (refreshing = null));
  return refreshing;
}

async function renew() {
  try {
    [page, firm] = await Promise.all([fetched(`${at}/plan`, keyOf(`plan ${house}`)), fetched("/api/instruments", keyOf("instruments"))]);
    byId("age").textContent = "";
  } catch {
    byId("age").textContent = page ? "The server does not answer; this is the plan as it was last seen here." : "The server does not answer, and this plan is not on this phone yet.";
  }
  if (page) show();
}

const formOf = (name) => [...page.forms, ...firm.forms].find((form) => form.name === name);

// ---- the plan
function show() {
  byId("title").textContent = page.plan.title;
  byId("subtitle").replaceChildren(...unbroken(page.plan.note));
  byId("plan").replaceChildren(partButton(page.plan, page.plan, "House"), ...page.plan.lists.filter((list) => SHOWN.has(list.path.at(-1))).map((list) => listOf(list)));
  byId("doubts").replaceChildren(...page.problems.map((one) => make("p", { class: "line not-shown" }, make("b", {}, "look at: "), `${one.message}${one.remedy ? `: ${one.remedy}` : ""}`)));
  byId("instruments").replaceChildren(
    ...firm.instruments.map((one) => line(one.title, one.note, () => openInstrument(one))),
    make("button", { type: "button", id: "new-instrument", onclick: () => openInstrument(null) }, "+ Instrument"));
  showCarried();
}

function line(title, note, open, path) {
  return make("button", { type: "button", class: "station part", "data-path": path?.join("/"), onclick: open }, make("b", {}, title), make("span", { class: "figure", "aria-hidden": "true" }, "›"), note ? make("span", { class: "aside" }, ...unbroken(note)) : null);
}

const partButton = (part, _, title) => line(title ? `${title}: ${part.title}` : part.title, part.note, () => openPlanPart(part), part.path);

function listOf(list, level = 3) {
  const inside = list.parts.flatMap((part) => [partButton(part), ...(part.form === "system" ? part.lists.filter((one) => SHOWN.has(one.path.at(-1))).map((one) => listOf(one, 4)) : [])]);
  const name = list.path.at(-1);
  return make("details", { class: `list level-${level}`, "data-list": list.path.join("/"), open: isOpen(list) , ontoggle: (event) => remember(`open.${house}.${list.path.join("/")}`, event.target.open ? "yes" : "no") },
    make("summary", {}, `${list.title} (${list.parts.length})`), ...inside,
    make("button", { type: "button", class: "add", "data-new": name, onclick: () => openPlanPart(null, list) }, `+ ${formOf(list.form).label}`));
}

const isOpen = (list) => recall(`open.${house}.${list.path.join("/")}`, ["systems", "terminals"].includes(list.path.at(-1)) ? "yes" : "no") === "yes";

/** Ids that a part may name, instead of typing them. */
function offers(path) {
  const rooms = page.plan.lists.find((list) => list.path.at(-1) === "rooms").parts.map((part) => [part.path.at(-1), part.title]);
  const system = page.plan.lists.find((list) => list.path.at(-1) === "systems").parts.find((part) => part.path[1] === path[1] && path[0] === "systems");
  const branches = system?.lists.find((list) => list.path.at(-1) === "branches").parts.map((part) => [part.path.at(-1), part.title]) ?? [];
  return { room: [["", "–"], ...rooms], branch: [["", "–"], ...branches], parent: [["", "–"], ...branches.filter(([id]) => id !== path.at(-1))] };
}

const LETTER = { terminals: { supply: "s", extract: "x" }, branches: { supply: "b", extract: "b" }, systems: {} };

/** A short name that nothing of the list has yet, until the person types another. */
function proposal(list) {
  return (inputs) => {
    if (!inputs.id) return;
    const taken = new Set(list.parts.map((part) => part.path.at(-1)));
    let isOwn = false;
    inputs.id.addEventListener("input", () => (isOwn = true));
    const letters = LETTER[list.path.at(-1)];
    const set = () => {
      if (isOwn) return;
      const letter = letters?.[inputs.side?.value];
      const base = letter ? "" : shortName(inputs.name?.value ?? "") || list.form.replaceAll("_", "-");
      let number = 1;
      const name = () => (letter ? `${letter}${number}` : number === 1 ? base : `${base}-${number}`);
      while (taken.has(name())) number += 1;
      inputs.id.value = name();
    };
    set();
    for (const one of [inputs.side, inputs.name]) one?.addEventListener("input", set);
  };
}

function openPlanPart(part, list) {
  const form = formOf(part?.form ?? list.form);
  const texts = Object.fromEntries(part?.texts ?? []);
  const near = part?.path ?? list.path;
  openPart({
    form, texts, isNew: !part, title: part ? `${form.label}: ${part.title}` : `New: ${form.label.toLowerCase()}`,
    offer: offers(near), propose: part ? undefined : proposal(list),
    below: (part?.lists ?? []).filter((one) => part.form !== "house" && !(part.form === "system" && SHOWN.has(one.path.at(-1)))).map((one) => listOf(one, 4)),
    remove: part && part.path.length ? `Take ${part.title} out of the plan? Former plans keep it.` : null,
    post({ texts: change, number_style, isRemoval }) {
      const { id, ...rest } = change;
      const path = part?.path ?? [...list.path, list.has_ids ? String(id ?? "").trim() : String(list.parts.length)];
      const body = { path, texts: part ? change : rest, seen_sha256: part?.sha256 ?? "", number_style, is_removal: Boolean(isRemoval) };
      return [`${at}/parts`, body, `${form.label} ${part?.title ?? path.at(-1)}`];
    },
    kept, after: done,
  });
}

const kept = () => toast("Kept on this phone; it is sent when the server answers.");

async function done() {
  // The next form offers what this one made.
  await refresh();
  toast("Saved.");
}

function openInstrument(one) {
  const form = formOf("instrument");
  openPart({
    form, texts: Object.fromEntries(one?.texts ?? []), isNew: !one, title: one ? `Instrument: ${one.title}` : "New: instrument",
    note: "Without figures of its own, an instrument takes typical figures of its kind, and the report says so.",
    propose: one ? undefined : proposal({ path: ["instruments"], form: "instrument", parts: firm.carried.map(([id]) => ({ path: [id] })) }),
    post({ texts: change, number_style }) {
      const { id, ...rest } = change;
      const instrument_id = one?.path[0] ?? String(id ?? "").trim();
      return ["/api/instruments", { instrument_id, texts: rest, seen_sha256: one?.sha256 ?? "", number_style }, `Instrument ${one?.title ?? instrument_id}`];
    },
    kept, after: done,
  });
}

// ---- beginning a visit
const begin = byId("begin");
for (const id of ["technician", "firm"]) byId(id).value = recall(id);
// Made once: a second tap on a slow network begins the same visit.
const visit = { id: `${now().slice(0, 10)}-${newId().slice(0, 8)}` };

function showCarried() {
  const chosen = new Set([...byId("carried").querySelectorAll("input:checked")].map((box) => box.value));
  const isFirst = !byId("carried").children.length;
  const isNone = firm.carried.every(([, , isCarried]) => !isCarried);
  byId("carried").replaceChildren(...firm.carried.map(([id, name, isCarried], i) => make("label", { class: "truth", for: `carried-${i}` },
    make("input", { type: "checkbox", id: `carried-${i}`, value: id, checked: isFirst ? isCarried || isNone : chosen.has(id) }), name)));
}

begin.addEventListener("submit", async (event) => {
  event.preventDefault();
  const say = byId("say");
  if (waiting.some((item) => !item.refused)) {
    say.textContent = "Something on this phone still waits to be sent; the visit would not know it. Try again when all is sent.";
    outbox.send();
    return;
  }
  for (const id of ["technician", "firm", "purpose"]) visit[id] = byId(id).value.trim();
  // Before the list is there, the record takes along what was carried last.
  if (firm) visit.instruments = [...byId("carried").querySelectorAll("input:checked")].map((box) => box.value);
  visit.at ??= now();
  remember("technician", visit.technician);
  remember("firm", visit.firm);
  say.textContent = "Beginning …";
  try {
    const answer = await fetch(`${at}/visits`, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(visit) });
    const told = await answer.json();
    if (answer.ok) location.assign(`/visits/${encodeURIComponent(told.id)}`);
    else say.textContent = told.problems?.map((one) => `${one.message}; ${one.remedy}`).join("; ") || told.message;
  } catch {
    say.textContent = "The server does not answer; try again.";
  }
});

// ---- habits, outbox
for (const name of ["preference", "number_style"]) {
  byId(name).value = habits()[name];
  byId(name).addEventListener("change", () => {
    remember(name, byId(name).value);
    refresh();
  });
}

outbox.watch((items, trouble) => {
  // Another tab may have sent what waited here.
  const isSent = items.length < waiting.length;
  waiting = items;
  showWaiting(byId("waiting"), items, trouble);
  if (isSent) refresh();
});
document.addEventListener("visibilitychange", () => document.hidden || refresh());
byId("outbox").addEventListener("click", () => {
  byId("h-phone").scrollIntoView();
  outbox.send();
});
warnWhile(() => waiting.some((item) => !item.refused));

let toastTimer = 0;
function toast(words) {
  clearTimeout(toastTimer);
  byId("toast").replaceChildren(make("span", {}, words));
  toastTimer = setTimeout(() => byId("toast").replaceChildren(), 9000);
}

[page, firm] = await Promise.all([outbox.keptPage(keyOf(`plan ${house}`)), outbox.keptPage(keyOf("instruments"))]);
if (page && firm) show();
outbox.send();
await refresh();
document.documentElement.dataset.ready = "yes";
