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
