// Every piece of text that holds a digit, with its colour and what is painted under its middle, the
// topmost first. `elementsFromPoint` knows the shapes of a drawing as well as boxes.
() => {
  const found = [];
  const isDrawn = (element) => element instanceof SVGElement && !(element instanceof SVGSVGElement);
  const painted = (element) => {
    const style = getComputedStyle(element);
    if (!isDrawn(element)) return { paint: style.backgroundColor, alpha: Number(style.opacity) };
    return { paint: style.fill, alpha: Number(style.fillOpacity) * Number(style.opacity) };
  };
  const look = (element, box, text) => {
    const stack = document.elementsFromPoint(box.left + box.width / 2, box.top + box.height / 2);
    const own = stack.findIndex((one) => element.contains(one) || one.contains(element));
    if (own < 0) throw new Error(`hidden behind something else: ${text}`);
    // Letters of a drawing are not their own ground.
    const isLetters = (one) => one.nodeName === "text" || one.nodeName === "tspan";
    const under = stack.slice(own).filter((one) => !isLetters(one)).map(painted);
    const style = getComputedStyle(element);
    found.push({ text, ink: isDrawn(element) ? style.fill : style.color, under, where: element.outerHTML.slice(0, 80) });
  };
  const top = document.querySelector("dialog[open]") ?? document.body;
  const walker = document.createTreeWalker(top, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const element = node.parentElement;
    if (!/\d/.test(node.data) || !element.checkVisibility() || element.nodeName === "OPTION") continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    if (!range.getClientRects().length) continue;
    element.scrollIntoView({ block: "center", inline: "center", behavior: "instant" });
    look(element, range.getClientRects()[0], node.data.trim());
  }
  for (const field of top.querySelectorAll("input, select, textarea")) {
    const shown = field.selectedOptions?.[0]?.textContent ?? field.value;
    if (!/\d/.test(shown) || !field.checkVisibility()) continue;
    field.scrollIntoView({ block: "center", behavior: "instant" });
    look(field, field.getBoundingClientRect(), shown);
  }
  return found;
}
