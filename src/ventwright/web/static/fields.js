// Fields of a form, built from its description: how each is typed, and what was typed.
import { make } from "./dom.js";
import { recall, remember } from "./habits.js";
import { isNumber } from "./numbers.js";

export const split = (text) => {
  const match = /^\s*([-−+]?[\d.,]+)\s*(.*)$/.exec(text ?? "");
  return match ? { number: match[1], symbol: match[2] } : { number: "", symbol: "" };
};

/** What was typed under a key: one text, or `key[0]`, `key[1]` … */
function earlier(texts, key) {
  if (texts[key] !== undefined) return [texts[key]];
  const found = [];
  for (let i = 0; texts[`${key}[${i}]`] !== undefined; i += 1) found.push(texts[`${key}[${i}]`]);
  return found;
}

let count = 0;

/** One field: its element, `value()` → text, texts, truth or undefined, `fault()` → words. */
export function field(form, spec, texts, { fresh }) {
  const id = `f${(count += 1)}`;
  const given = earlier(texts, spec.key);
  const makers = { quantity, choice, truth, text: plain };
  return makers[spec.kind](form, spec, fresh ? [] : given, id, given);
}

function quantity(form, spec, given, id, hints) {
  const remembered = recall(`symbol.${form.name}.${spec.key}`);
  const typed = split(given[0] ?? hints[0]).symbol;
  const symbols = [...new Set([...spec.symbols, ...(typed ? [typed] : [])])];
  const chosen = [typed, remembered].find((one) => symbols.includes(one)) ?? symbols[0];
  const symbol = make("select", { "aria-label": `Unit of ${spec.label}` }, ...symbols.map((one) => make("option", { selected: one === chosen }, one)));
  symbol.addEventListener("change", () => remember(`symbol.${form.name}.${spec.key}`, symbol.value));
  const bare = symbols.length === 1 && symbols[0] === "";
  const inputs = [];
  const box = make("div", { class: "quantity" });
  const add = (text) => {
    const first = inputs.length === 0;
    const input = make("input", {
      id: first ? id : `${id}-${inputs.length}`, inputmode: "decimal", autocomplete: "off", enterkeyhint: "done",
      "aria-label": first ? undefined : `${spec.label}, value ${inputs.length + 1}`,
    });
    input.value = text;
    inputs.push(input);
    if (spec.is_grid) {
      const area = make("textarea", { id, rows: 3, inputmode: "text", "aria-describedby": `${id}-how` });
      area.value = text;
      inputs[0] = area;
      box.append(area, symbol, make("small", { id: `${id}-how`, class: "more" }, "One line of values for each line of the traverse, spaces between."));
    } else if (first) box.append(input, ...(bare ? [] : [symbol]));
    else box.insertBefore(input, more);
    return input;
  };
  const more = spec.is_many && !spec.is_grid ? make("button", { type: "button", class: "more", onclick: () => add("").focus() }, "+ another value") : null;
  if (more) box.append(more);
  const numbers = given.map((one) => split(one).number);
  add(numbers[0] ?? "");
  for (const one of numbers.slice(1)) add(one);
  if (more) box.append(more);
  const unit = () => (bare ? "" : ` ${symbol.value}`);
  const filled = () => inputs.map((one) => one.value.trim()).filter(Boolean);
  const lines = () => inputs[0].value.split(/[\n;]/).map((line) => line.trim().split(/\s+/).filter(Boolean)).filter((line) => line.length);
  return {
    spec,
    element: make("div", {}, make("label", { for: id }, spec.label), box),
    focus: () => inputs[0].focus(),
    symbol: () => symbol.value,
    /** Put in one value, such as a mean, in whatever unit it comes in. */
    set(text) {
      const given = split(text);
      if (![...symbol.options].some((one) => one.value === given.symbol)) symbol.append(make("option", {}, given.symbol));
      symbol.value = given.symbol;
      for (const one of inputs.splice(1)) one.remove();
      inputs[0].value = given.number;
    },
    value() {
      if (spec.is_grid) return lines().length ? lines().map((line) => line.map((one) => one + unit())) : undefined;
      const texts = filled().map((one) => one + unit());
      if (!texts.length) return undefined;
      return spec.is_many ? texts : texts[0];
    },
    fault() {
      const typed = spec.is_grid ? lines().flat() : filled();
      const odd = typed.find((one) => !isNumber(one));
      if (odd !== undefined) return `${spec.label}: “${odd}” is not a number`;
      return spec.is_required && !typed.length ? `${spec.label}: type a number` : "";
    },
  };
}

function choice(form, spec, given, id) {
  const select = make("select", { id }, ...(spec.is_required ? [] : [make("option", { value: "" }, "–")]), ...spec.choices.map(([value, label]) => make("option", { value, selected: given[0] === value }, label)));
  return { spec, element: make("div", {}, make("label", { for: id }, spec.label), select), focus: () => select.focus(), value: () => select.value || undefined, fault: () => "" };
}

function truth(form, spec, given, id) {
  const select = make("select", { id }, ...[["", "–"], ["true", "yes"], ["false", "no"]].map(([value, label]) => make("option", { value, selected: given[0] === value }, label)));
  return { spec, element: make("div", {}, make("label", { for: id }, spec.label), select), focus: () => select.focus(), value: () => ({ true: true, false: false })[select.value], fault: () => "" };
}

function plain(form, spec, given, id) {
  const isLong = ["note", "text", "statement", "what"].includes(spec.key);
  const input = make(isLong ? "textarea" : "input", { id, maxlength: 2000, rows: isLong ? 2 : undefined });
  input.value = given[0] ?? "";
  return {
    spec, element: make("div", {}, make("label", { for: id }, spec.label), input), focus: () => input.focus(),
    value: () => input.value.trim() || undefined,
    fault: () => (spec.is_required && !input.value.trim() ? `${spec.label}: write something` : ""),
  };
}
