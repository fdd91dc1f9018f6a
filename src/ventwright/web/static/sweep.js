// Timed average: samples typed one after another or sent by a device while the probe moves; the mean,
// how steady it is and how long to go on, in figures that can be read at arm's length.
import { stepOf, timedAverage } from "./average.js";
import { make } from "./dom.js";
import { habits, recall, remember } from "./habits.js";
import { isNumber } from "./numbers.js";
import { hear, offered } from "./streams.js";

// An hour at one a second; as many as the record keeps with a reading.
const MOST = 3600;
const GOALS = [["0.01", "1 %"], ["0.02", "2 %"], ["0.05", "5 %"], ["0.1", "10 %"]];

/** A typed number as the record keeps a sample: digits, a point, digits. */
const plain = (text) => text.trim().replace(",", ".").replace("−", "-").replace("+", "").replace(/^(-?)\./, "$10.").replace(/\.$/, "");

const marked = (text) => (habits().number_style === "decimal_comma" ? text.replace(".", ",") : text);

/** Two digits of an uncertainty that begins with 1 or 2, else one. */
function decimalsFor(u_expanded) {
  const place = Math.floor(Math.log10(u_expanded));
  return Math.min(Math.max((u_expanded / 10 ** place < 2.95 ? 1 : 0) - place, 0), 6);
}

const seconds = (s) => (s < 90 ? `${Math.round(s)} s` : `${Math.round(s / 60)} min`);

class Sweep {
  constructor(goal) {
    this.texts = [];
    this.times_s = [];
    this.goal = goal;
    this.paused_s = 0;
    this.wasPaused = false;
  }

  /** A pause, or a device that was away, is no time of the average: it shrinks to one interval. */
  add(text, at_s) {
    if (this.texts.length >= MOST) return;
    const next_s = this.texts.length ? this.times_s.at(-1) + this.interval_s : at_s;
    const gap_s = at_s - this.paused_s - next_s;
    if (this.texts.length > 1 && (this.wasPaused || gap_s > 3 + 5 * this.interval_s)) this.paused_s += gap_s;
    this.wasPaused = false;
    this.texts.push(text);
    this.times_s.push(at_s - this.paused_s);
  }

  pause() {
    this.wasPaused = true;
  }

  undo() {
    this.texts.pop();
    this.times_s.pop();
  }

  /** Mean time from sample to sample; a lone one has none, and takes a second. */
  get interval_s() {
    const count = this.texts.length;
    return count < 2 ? 1 : Math.max((this.times_s.at(-1) - this.times_s[0]) / (count - 1), 0.01);
  }

  found() {
    if (!this.texts.length) return null;
    return timedAverage(this.texts.map(Number), { interval_s: this.interval_s, wanted_frac: this.goal, resolution: stepOf(this.texts) });
  }

  /** The mean with two digits more than the display shows, so that rounding adds nothing. */
  meanText() {
    const decimals = Math.round(-Math.log10(stepOf(this.texts))) + 2;
    return marked(this.found().mean.toFixed(Math.min(decimals, 12)));
  }
}

/** What the average amounts to, in words. */
function sentence(found, resolution) {
  if (found.u_std === null) return "Go on: steadiness can be said from four samples.";
  if (!found.is_steady) return "It drifts: more time does not mend that. Wait until it is steady, or find out why.";
  if (found.go_on_s === 0) return "Steady. That is enough.";
  if (found.go_on_s === null) return resolution > found.scatter_std ? "The last digit of the display is too coarse for what is wanted." : "What is wanted can't be reached: the mean is next to nothing.";
  return `Steady. Go on for about ${seconds(Math.max(found.go_on_s, 1))}.`;
}

/**
 * Open the helper. `symbols` are the units of measure offered, the usual first, `dimension` what is averaged (empty for
 * whatever a device sends); `places` are where a reading could be made, if that is not known yet.
 * `done` is handed the mean as text, its unit and the samples as keys of a reading.
 */
export function openSweep({ title = "Timed average", symbols, dimension = "", places, done }) {
  let sweep = new Sweep(Number(recall("sweep.goal", "0.02")));
  let isRunning = false;
  let isEnough = false;
  let stream = null;
  let unit = "";
  let closeStream = () => {};
  const input = make("input", { inputmode: "decimal", autocomplete: "off", id: "sweep-sample", enterkeyhint: "next" });
  const symbol = make("select", { id: "sweep-symbol", "aria-label": "Unit of the samples" }, ...symbols.map((one) => make("option", {}, one)));
  const source = make("select", { id: "sweep-source" }, make("option", { value: "" }, "typed by hand"));
  const goal = make("select", { id: "sweep-goal" }, ...GOALS.map(([value, label]) => make("option", { value, selected: Number(value) === sweep.goal }, label)));
  const live = make("p", { id: "sweep-live" });
  const mean = make("p", { id: "sweep-mean" }, "–");
  const facts = make("p", { id: "sweep-facts" });
  const progress = make("progress", { id: "sweep-progress", max: 1, value: 0, "aria-label": "Towards the wanted uncertainty" });
  const say = make("p", { id: "sweep-say", role: "status" });
  const go = make("button", { type: "button", id: "sweep-go", class: "main", onclick: () => toggle() }, "Start");
  const undo = make("button", { type: "button", id: "sweep-undo", onclick: () => { sweep.undo(); show(); } }, "Undo last sample");
  const anew = make("button", { type: "button", id: "sweep-anew", onclick: () => { sweep = new Sweep(sweep.goal); isRunning = false; show(); } }, "Begin anew");
  const place = places ? make("select", { id: "sweep-place" }) : null;
  const take = make("button", { type: "button", id: "sweep-take", class: "main", onclick: () => finish() }, places ? "Make a reading" : "Take the mean");
  const typing = make("div", { id: "sweep-typing" }, make("label", { for: "sweep-sample" }, "Sample"), make("div", { class: "quantity" }, input, symbol), make("button", { id: "sweep-add" }, "Add sample"));

  const unitNow = () => (stream ? unit || stream.unit_of_measure : symbol.value);

  function add(text, at_s) {
    const wasEnough = isEnough;
    sweep.add(text, at_s);
    if (sweep.texts.length >= MOST) isRunning = false;
    show();
    // Felt by a hand that holds a probe while eyes are elsewhere.
    if (isEnough && !wasEnough) navigator.vibrate?.(200);
  }

  function show() {
    const found = sweep.found();
    const count = sweep.texts.length;
    isEnough = found?.go_on_s === 0 && found.is_steady;
    const U = found?.u_std ? found.coverage_factor * found.u_std : null;
    const step = stepOf(sweep.texts);
    const decimals = U ? decimalsFor(U) : Math.min(Math.round(-Math.log10(step)) + 1, 6);
    const figure = (value, more = 0) => marked(value.toFixed(decimals + more));
    mean.replaceChildren(...(found ? [make("b", {}, figure(found.mean)), ` ${U ? `± ${figure(U)} ` : ""}${unitNow()}`] : ["–"]));
    facts.textContent = found ? [`${count} sample${count === 1 ? "" : "s"} in ${seconds(found.elapsed_s)}`, found.scatter_std !== null && `spread ${figure(found.scatter_std, 1)}`, found.u_std !== null && `drift ${figure(found.drift, 1).replace("-", "−")}`].filter(Boolean).join(" · ") : "";
    progress.value = found?.u_std && found.go_on_s !== null ? found.elapsed_s / (found.elapsed_s + found.go_on_s) : 0;
    progress.hidden = !found;
    say.textContent = count >= MOST ? `${MOST} samples: that is as many as a reading keeps.` : found ? sentence(found, step) : stream ? "Put the probe into the airstream, then start." : "Type what the meter shows, at an even pace, while the probe moves.";
    go.textContent = isRunning ? "Stop" : count ? "Go on" : "Start";
    go.classList.toggle("main", isRunning || !count);
    typing.hidden = Boolean(stream) || (count > 0 && !isRunning);
    live.hidden = !stream;
    undo.disabled = !count;
    anew.hidden = !count;
    take.hidden = isRunning || !count;
    if (place) place.parentElement.hidden = take.hidden;
    if (place && !take.hidden) choosePlaces();
  }

  function choosePlaces() {
    const fitting = places(unitNow(), stream?.dimension ?? "");
    const before = place.value;
    place.replaceChildren(...fitting.map(([key, name, station]) => make("option", { value: key, selected: before ? key === before : station === stream?.station }, name)));
    take.disabled = !fitting.length;
  }

  function toggle() {
    isRunning = !isRunning;
    if (!isRunning) sweep.pause();
    show();
    if (isRunning && !stream) input.focus();
  }

  function finish() {
    const { texts, interval_s } = sweep;
    const text = `${sweep.meanText()} ${unitNow()}`;
    done({
      text, dimension: stream?.dimension ?? dimension, unit_of_measure: unitNow(), place: place?.value ?? "", elapsed_s: interval_s * texts.length,
      samples: (key) => ({
        "samples.key": key, "samples.unit_of_measure": unitNow(), "samples.interval": `${interval_s.toFixed(2)} s`, "samples.texts": texts,
        "samples.origin": stream ? "streamed" : "typed", ...(stream ? { "samples.device": stream.label } : {}),
      }),
    });
    sweep = new Sweep(sweep.goal);
    dialog.close();
  }

  function choose(next) {
    closeStream();
    closeStream = () => {};
    sweep = new Sweep(sweep.goal);
    isRunning = false;
    stream = next;
    unit = "";
    live.textContent = "Waiting for the device …";
    if (stream) {
      closeStream = hear(stream, {
        sample(one) {
          unit = one.unit_of_measure;
          live.replaceChildren("now ", make("b", {}, marked(one.text)), ` ${unit}`);
          if (isRunning) add(one.text, one.at_s);
        },
        trouble(words) {
          live.textContent = words;
        },
      });
    }
    show();
  }

  const dialog = make("dialog", { id: "sweep-dialog", "aria-labelledby": "sweep-title" }, make("form", {
    novalidate: true,
    onsubmit(event) {
      event.preventDefault();
      if (stream) return;
      if (!isNumber(input.value)) {
        say.textContent = "Type a number.";
        return;
      }
      isRunning = true;
      add(plain(input.value), performance.now() / 1000);
      input.value = "";
      input.focus();
    },
  },
  make("div", { class: "row" }, make("h2", { id: "sweep-title" }, title), make("button", { type: "button", id: "sweep-close", "aria-label": "Close without a reading", onclick: () => leave() }, "✕")),
  make("label", {}, "Samples ", source), make("label", { class: "beside" }, "Wanted: ± ", goal, " of the mean"),
  live, mean, progress, facts, say, typing,
  place ? make("label", {}, "For ", place) : null, take, go,
  make("div", { class: "bar" }, undo, anew)));

  function leave() {
    if (!sweep.texts.length || confirm("Throw the samples away?")) dialog.close();
  }
  dialog.addEventListener("cancel", (event) => {
    event.preventDefault();
    leave();
  });
  dialog.addEventListener("close", () => {
    closeStream();
    dialog.remove();
  });
  goal.addEventListener("change", () => {
    remember("sweep.goal", goal.value);
    sweep.goal = Number(goal.value);
    show();
  });
  symbol.addEventListener("change", () => show());
  let streams = [];
  source.addEventListener("change", () => choose(streams[Number(source.value)] ?? null));
  offered().then((found) => {
    streams = found.filter((one) => !dimension || one.dimension === dimension);
    source.append(...streams.map((one, i) => make("option", { value: String(i) }, one.label)));
    source.parentElement.hidden = !streams.length;
  });
  source.parentElement.hidden = true;
  document.body.append(dialog);
  dialog.showModal();
  show();
  input.focus();
}
