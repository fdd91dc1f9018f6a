/** A new element: `make("p", { class: "note" }, "text", child)`. Texts are never read as HTML. */
export function make(name, attributes = {}, ...inside) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === false || value === undefined || value === null) continue;
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else element.setAttribute(key, value === true ? "" : value);
  }
  element.append(...inside.filter((one) => one !== null && one !== undefined && one !== false));
  return element;
}

export const byId = (id) => document.getElementById(id);

/** A text whose dates and figures with their unit don't fall apart at the end of a line. */
export const unbroken = (text) => text.split(/(\d{4}-\d\d-\d\d|[\d.,]+ [^\s\d,;·–()]+)/).map((part, i) => (i % 2 ? make("span", { class: "nowrap" }, part) : part));
