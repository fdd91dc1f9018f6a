// The field page. It never navigates while entries wait; what it shows is the last page it was given,
// with its age, and what was typed since.
import { byId, make, unbroken } from "./dom.js";
import { openCarried } from "./carry.js";
import { askForPage, at, visit } from "./early.js";
import { canAverage, hand, openForm, openReading } from "./entry.js";
import { habits, recall, remember } from "./habits.js";
import { newId, now } from "./ids.js";
import { showContests, showFaults, showNotes } from "./open.js";
import * as outbox from "./outbox.js";
import { openSweep } from "./sweep.js";
import { digitsOf, showWaiting, warnWhile } from "./waiting.js";
import { showWalk } from "./walk.js";

let page = null;
let receivedAt = 0;
let waiting = [];
let refreshing = null;
let again = false;
let isOldEdition = false;
let isUnanswered = false;

// ---- what stands
const draft = () => {
  const { preference, number_style } = habits();
  return `${at}/draft.pdf?${new URLSearchParams({ preference, number_style })}`;
};
const key = () => JSON.stringify([visit, habits().preference, habits().number_style]);

async function refresh() {
  if (refreshing) {
    again = true;
    return refreshing;
  }
  refreshing = (async () => {
    const wanted = key();
    try {
      const answer = await askForPage();
      if (answer.status === 401) await outbox.forgetPages();
      if (!answer.ok) throw new Error(String(answer.status));
      isOldEdition = !import.meta.url.includes(`/${answer.headers.get("ventwright-edition")}/`);
      page = await answer.json();
      receivedAt = Date.now();
      isUnanswered = false;
      show();
      await outbox.keepPage(wanted, { page, receivedAt });
    } catch {
      isUnanswered = true;
      showAge();
    }
    refreshing = null;
    if (again) {
      again = false;
      refresh();
    }
  })();
  return refreshing;
}

function forms() {
  return Object.fromEntries(page.forms.map((form) => [form.name, form]));
}

function show() {
  const { model } = page;
  document.title = model.title;
  byId("title").textContent = model.title;
  byId("subtitle").replaceChildren(...unbroken(model.subtitle), page.is_closed ? " (closed)" : "");
  byId("back").href = `/houses/${encodeURIComponent(page.house_id)}`;
  const setting = byId("setting");
  const wanted = setting.value || recall(`setting.${visit}`);
  setting.replaceChildren(...model.settings.map(([id, name]) => make("option", { value: id, selected: id === wanted }, name)));
  for (const section of model.sections) {
    for (const place of document.querySelectorAll(`[data-section="${section.id}"]`)) {
      const open = place.querySelector("details")?.open ?? false;
      if (place.dataset.fold) {
        const inside = make("div");
        // Written by our own server from texts it escaped.
        inside.innerHTML = section.html;
        place.replaceChildren(make("details", { open }, make("summary", {}, place.dataset.fold), inside));
      } else place.innerHTML = section.html;
    }
  }
  const shown = new Set(model.sections.map((section) => section.id));
  for (const place of document.querySelectorAll("[data-section]")) if (!shown.has(place.dataset.section)) place.replaceChildren();
  byId("cautions").replaceChildren(...model.cautions.map((text) => make("p", { class: "line caution" }, make("b", {}, "caution: "), text)));
  showWalk(byId("walk"), page, visit);
  byId("photos").replaceChildren(...page.photos.map(([sha256, caption]) => make("img", { src: `/api/photos/${sha256}`, alt: caption || "photo", loading: "lazy" })));
  byId("doubts").replaceChildren(...page.problems.map((one) => make("p", { class: "line not-shown" }, make("b", {}, "look at: "), `${one.message}${one.remedy ? `: ${one.remedy}` : ""}`)));
  showContests(page, at, { toast, refresh });
  showFaults(page, visit, toast);
  showNotes(page);
  showSteps();
  showStations();
  showPictures();
  showAge();
}

/** The next step of balancing, ready to be typed: the right place, setting and phase. */
function showSteps() {
  const buttons = page.steps.flatMap((step) => {
    const station = page.model.stations.find((one) => one.key === step.station && one.group === "terminals");
    const target = page.model.targets.find(([, id]) => id === step.target);
    const go = () => {
      byId("setting").value = step.setting;
      choosePhase(step.phase);
      read(station);
    };
    return [
      target && make("button", { type: "button", onclick: () => openAdjustment(step.target) }, `Turned: ${target[2]}`),
      station && make("button", { type: "button", class: "main", onclick: go }, `Read ${station.title}`),
    ].filter(Boolean);
  });
  byId("steps").replaceChildren(...buttons);
}

const setting = () => byId("setting").value;
const phase = () => byId("phase").value;
const here = (station) => station.values.find((one) => one.setting === setting() && one.phase === phase()) ?? { text: "", reading_ids: [] };

function typedHere(station) {
  const mine = waiting.filter((item) => item.body?.kind === "reading" && item.visit === visit && item.body.texts.station === station.key && item.body.texts.setting === setting() && item.body.texts.phase === phase());
  return mine.filter((item) => station.methods.includes(item.body.texts.method)).at(-1);
}

function showStations() {
  for (const box of document.querySelectorAll("[data-group]")) {
    const focused = box.contains(document.activeElement) ? document.activeElement.dataset.station : null;
    const mine = page.model.stations.filter((station) => station.group === box.dataset.group);
    box.replaceChildren(...mine.map(stationButton));
    if (focused) box.querySelector(`[data-station="${CSS.escape(focused)}"]`)?.focus();
  }
}

function stationButton(station) {
  const value = here(station);
  const waits = typedHere(station);
  const aside = [station.note, value.target && `target ${value.target}`, value.band && `band ${value.band}`].filter(Boolean);
  const said = waits ? "waits to be sent" : value.verdict;
  const figure = waits ? digitsOf(waits.body.texts) : value.text || value.typed || "–";
  return make("button", { type: "button", class: "station", "data-station": station.key, onclick: () => read(station) },
    make("b", {}, station.title), make("span", { class: "figure" }, figure),
    make("span", { class: `said ${waits ? "" : (value.mark ?? "").replace(" ", "-")}` }, said), make("span", { class: "aside" }, ...aside.flatMap((one, i) => [i ? " · " : "", i ? make("span", { class: "nowrap" }, one) : one])),
    value.doubt ? make("span", { class: "doubt" }, value.doubt) : null);
}

function showPictures() {
  const mine = page.model.pictures.filter((one) => one.setting === setting());
  const box = byId("pictures");
  // SVG of our own server, every text in it escaped there.
  box.innerHTML = mine.map((one) => one.svg).join("");
}

function showAge() {
  const minutes = Math.floor((Date.now() - receivedAt) / 60_000);
  const old = page && (outOfReach || isUnanswered || minutes >= 2);
  byId("age").textContent = !page ? "Nothing of this visit is on this phone yet; the server does not answer." : old ? `${outOfReach || isUnanswered ? "The server does not answer. " : ""}As of ${new Date(receivedAt).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" })}, ${minutes} min ago. Figures and targets do not know what was typed since.` : isOldEdition ? "This page was renewed on the server. Reload it when nothing is being typed." : "";
}

// ---- typing
function read(station, correct, average) {
  const value = here(station);
  const memory = memoryOf(station);
  openReading({
    visit, forms: forms(), setting: setting(), phase: phase(), memory, correct, average,
    instruments: page.model.instruments,
    station: { ...station, hints: [value.target && `target ${value.target}`, value.band && `band ${value.band}`, value.text && `now ${value.text}`].filter(Boolean) },
    past: pastOf(station, value),
    done: (id, typed) => {
      remember(`last.${station.group}.${station.methods.join()}`, JSON.stringify({ method: typed.method, instrument: typed.instrument ?? "", texts: flat(typed) }));
      kept.set(id, station);
      toast("Kept on this phone.", id);
    },
  });
}

const kept = new Map();

function flat(typed) {
  const found = {};
  for (const [name, value] of Object.entries(typed).filter(([one]) => !one.startsWith("samples."))) {
    if (Array.isArray(value)) value.forEach((one, i) => (found[`${name}[${i}]`] = String(one)));
    else found[name] = String(value);
  }
  return found;
}

/** Method, instrument and what stays the same: as last here, else as last at such a place. */
function memoryOf(station) {
  const waits = typedHere(station);
  if (waits) return { method: waits.body.texts.method, instrument: waits.body.texts.instrument ?? "", texts: flat(waits.body.texts) };
  const own = station.values.some((value) => value.reading_ids.length);
  const mine = JSON.parse(recall(`last.${station.group}.${station.methods.join()}`, "null"));
  if (!own && mine) return mine;
  return { method: station.last_method, instrument: station.last_instrument, texts: Object.fromEntries(station.last_fields) };
}

function pastOf(station, value) {
  return value.reading_ids.map((id, i) => make("div", { class: "past" }, make("span", {}, `Reading ${i + 1} of ${value.reading_ids.length}${i === value.reading_ids.length - 1 ? `: ${value.typed}` : ""}`),
    i === value.reading_ids.length - 1 ? make("button", { type: "button", onclick: () => read(station, { ...memoryOf(station), id }) }, "Correct") : null,
    make("button", { type: "button", onclick: () => withdraw(id) }, "Withdraw")));
}

async function withdraw(id, why = "withdrawn on site") {
  byId("entry").close();
  // Its figures, if they are still on their way, are not told any more.
  kept.delete(id);
  await hand(visit, "withdrawal", { entry: id, kind: "reading", reason: why, by: habits().by });
  toast("Withdrawn; it stays in the record, out of force.");
}

let toastTimer = 0;
function toast(words, undo) {
  clearTimeout(toastTimer);
  byId("toast").replaceChildren(make("span", {}, words), undo ? make("button", { type: "button", onclick: () => withdraw(undo, "undone") }, "Undo") : "");
  toastTimer = setTimeout(() => byId("toast").replaceChildren(), 9000);
}

function standing(kind) {
  return page.standing.filter((one) => one.kind === kind);
}

for (const button of document.querySelectorAll("[data-form]")) {
  button.addEventListener("click", () => page && openEntry(button.dataset.form));
}

const openAdjustment = (target) => openEntry("adjustment", { target });

function openEntry(name, given = {}) {
  const form = forms()[name];
  const before = form.name === "conditions" ? standing("conditions").at(-1) : undefined;
  const choices = page.model.targets;
  const own = { ...form, fields: form.fields.map((spec) => (spec.key === "target" ? { ...spec, kind: "choice", choices: choices.map(([, id, name]) => [id, name]) } : spec.key === "setting" ? { ...spec, kind: "choice", choices: page.model.settings } : spec)).filter((spec) => !(spec.key === "kind" && form.fields.some((one) => one.key === "target"))) };
  openForm({
    visit, form: own, texts: before ? Object.fromEntries(before.texts) : given, more: before ? { supersedes: before.id } : {},
    done: () => toast("Kept on this phone."),
    kindOf: form.fields.some((one) => one.key === "target") ? (id) => choices.find(([, one]) => one === id)?.[0] ?? "other" : undefined,
  });
}

// ---- photos
byId("photo").addEventListener("click", () => byId("camera").click());
byId("camera").addEventListener("change", async () => {
  const [file] = byId("camera").files;
  byId("camera").value = "";
  if (!file) return;
  const id = newId();
  const query = new URLSearchParams({ at: now(), by: habits().by, caption: file.name });
  await outbox.put({ id, visit, address: `${at}/photos/${id}?${query}`, photo: file, made: Date.now() });
  toast("Photo kept on this phone.");
});

// ---- the outbox
let outOfReach = false;
outbox.watch((items, trouble, item, answer) => {
  waiting = items;
  outOfReach = Boolean(trouble);
  showWaiting(byId("waiting"), items, trouble);
  if (page) {
    showStations();
    showAge();
  }
  if (!item) return;
  if (answer.code) toast(`Refused: ${answer.problems?.[0]?.message ?? answer.message}`);
  else {
    if (kept.has(item.id) && answer.value) {
      const { text, band, verdict, doubt } = answer.value;
      toast([kept.get(item.id).title, text || doubt, band && `band ${band}`, verdict].filter(Boolean).join(" · "), item.id);
    } else if (answer.problems?.length) toast(answer.problems[0].message);
    if (item.visit === visit) refresh();
  }
});
byId("outbox").addEventListener("click", () => {
  byId("habits").scrollIntoView();
  outbox.send();
});

warnWhile(() => waiting.some((item) => !item.refused));

byId("save-queue").addEventListener("click", async () => {
  const address = URL.createObjectURL(await outbox.asFile());
  make("a", { href: address, download: `ventwright-waiting-${now().slice(0, 10)}.json` }).click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
});
byId("load-queue").addEventListener("click", () => byId("queue-file").click());
byId("queue-file").addEventListener("change", async () => {
  const [file] = byId("queue-file").files;
  byId("queue-file").value = "";
  if (!file) return;
  try {
    toast(`${await outbox.fromFile(file)} entries taken in.`);
  } catch (trouble) {
    toast(`Can't take that file in: ${trouble.message}.`);
  }
});

// ---- habits, setting, phase
for (const name of ["preference", "number_style"]) {
  byId(name).value = habits()[name];
  byId(name).addEventListener("change", () => {
    remember(name, byId(name).value);
    refresh();
    byId("draft").href = draft();
  });
}
byId("by").value = habits().by;
byId("by").addEventListener("change", () => remember("technician", byId("by").value.trim()));
byId("phase").value = recall(`phase.${visit}`, "as_found");
function chosen(name) {
  remember(`${name}.${visit}`, byId(name).value);
  if (!page) return;
  showStations();
  showPictures();
}
function choosePhase(phase) {
  byId("phase").value = phase;
  chosen("setting");
  chosen("phase");
}
for (const name of ["setting", "phase"]) byId(name).addEventListener("change", () => chosen(name));
byId("pictures").addEventListener("click", (event) => {
  const place = event.target.closest("[data-station]")?.dataset.station;
  const station = page?.model.stations.find((one) => one.key === place && one.group === "terminals");
  if (station) read(station);
});
/** A timed average before it is known where: whatever can be averaged at some station is offered. */
function average() {
  if (!page) return;
  const known = forms();
  const specs = page.model.stations.flatMap((station) => station.methods.flatMap((name) => known[name].fields)).filter((spec) => canAverage(spec));
  const dimensions = new Map(specs.flatMap((spec) => spec.symbols.map((symbol) => [symbol, spec.dimension])));
  const takes = (station, dimension) => station.methods.some((name) => known[name].fields.some((spec) => canAverage(spec, dimension)));
  const of = (symbol, dimension) => dimension || dimensions.get(symbol);
  openSweep({
    symbols: [...dimensions.keys()],
    places: (symbol, dimension) => page.model.stations.map((station, i) => [String(i), station]).filter(([, station]) => takes(station, of(symbol, dimension))).map(([i, station]) => [i, station.title, station.key]),
    done: (found) => read(page.model.stations[Number(found.place)], undefined, { ...found, dimension: of(found.unit_of_measure, found.dimension) }),
  });
}
byId("carry").addEventListener("click", () => page && openCarried({ visit, house: page.house_id, carried: page.model.instruments, toast }));
byId("sweep").addEventListener("click", average);
byId("draft").href = draft();

// ---- report
byId("issue").addEventListener("click", async () => {
  if (waiting.length) {
    byId("issued").textContent = "Entries still wait; the report would not know them. Send them first.";
    return;
  }
  byId("issue").disabled = true;
  byId("issued").textContent = "Issuing …";
  try {
    const answer = await fetch(`${at}/reports`, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ issued_by: habits().by, preference: habits().preference, number_style: habits().number_style }) });
    const told = await answer.json();
    if (!answer.ok) throw new Error(told.message);
    byId("issued").replaceChildren("Issued: ", make("a", { href: told.address, target: "_blank", rel: "noopener", id: "issued-report" }, `report ${told.number}`));
  } catch (trouble) {
    byId("issued").textContent = `Not issued: ${trouble.message}`;
  }
  byId("issue").disabled = false;
});

// ---- others on the same visit
function listen() {
  const events = new EventSource(`${at}/events?after=${page?.number ?? 0}&plan_after=${page?.plan_number ?? 0}`);
  events.addEventListener("number", (event) => {
    const { number, plan_number } = JSON.parse(event.data);
    if (number !== page?.number || plan_number !== page?.plan_number) refresh();
    outbox.send();
  });
  events.onopen = () => isUnanswered && refresh();
  events.onerror = () => {
    isUnanswered = true;
    showAge();
    if (events.readyState !== EventSource.CLOSED) return;
    // Answered, and refused: by asking for the page it is found out why.
    refresh();
    setTimeout(listen, 5000);
  };
}

const first = refresh();
const before = await outbox.keptPage(key());
if (before && !page) {
  ({ page, receivedAt } = before);
  show();
}
outbox.send();
await first;
listen();
setInterval(showAge, 30_000);
document.documentElement.dataset.ready = "yes";
// Only browsers that trust the connection offer this. It opens the page while the server is away.
navigator.serviceWorker?.register("/worker.js", { updateViaCache: "none" }).catch(() => {});
