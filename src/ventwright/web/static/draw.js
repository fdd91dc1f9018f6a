// A signature drawn with a finger: ink on white, whatever the page's colours, so that it prints.
import { make } from "./dom.js";

const WIDE = 600;
const TALL = 200;

/** A field to draw in; `picture()` → PNG, or null where nothing was drawn. */
export function drawing(label) {
  const canvas = make("canvas", { width: WIDE, height: TALL, class: "draw", role: "img", "aria-label": label });
  const pen = canvas.getContext("2d");
  let isDrawn = false;
  let last = null;
  const clear = () => {
    pen.fillStyle = "#ffffff";
    pen.fillRect(0, 0, WIDE, TALL);
    isDrawn = false;
  };
  const at = (event) => {
    const box = canvas.getBoundingClientRect();
    return [((event.clientX - box.left) * WIDE) / box.width, ((event.clientY - box.top) * TALL) / box.height];
  };
  const line = (from, to) => {
    pen.strokeStyle = "#14202b";
    pen.lineWidth = 4;
    pen.lineCap = "round";
    pen.beginPath();
    pen.moveTo(...from);
    pen.lineTo(...to);
    pen.stroke();
    isDrawn = true;
  };
  canvas.addEventListener("pointerdown", (event) => {
    event.preventDefault();
    canvas.setPointerCapture(event.pointerId);
    last = at(event);
    line(last, last);
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!last) return;
    // A finger is quicker than the screen: all its places since the last picture count.
    for (const one of event.getCoalescedEvents?.() ?? [event]) {
      const now = at(one);
      line(last, now);
      last = now;
    }
  });
  for (const name of ["pointerup", "pointercancel"]) canvas.addEventListener(name, () => (last = null));
  clear();
  return {
    element: make("div", {}, make("p", { class: "drawn" }, label), canvas, make("button", { type: "button", onclick: clear }, "Clear the drawing")),
    picture: () => new Promise((done) => (isDrawn ? canvas.toBlob(done, "image/png") : done(null))),
  };
}
