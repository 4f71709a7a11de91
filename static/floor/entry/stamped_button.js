/* A button that knows when it was pressed. */

import { make } from "../drawing/dom.js";

/* A button that acts with the moment at which it was pressed down, not let go. By touch and mouse
   on its own pointer, so that two thumbs are two taps; by keyboard and screen reader on click. */
export function stampedButton(className, act, ...content) {
  const one = make("button", { type: "button", class: className }, ...content);
  let down = null;
  let key = null;
  one.addEventListener("pointerdown", (event) => {
    down = event.button === 0 ? event.timeStamp : null;
  });
  one.addEventListener("pointercancel", () => (down = null));
  one.addEventListener("pointerleave", (event) => {
    if (event.pointerType === "mouse") down = null;
  });
  one.addEventListener("pointerup", () => {
    const at = down;
    down = null;
    if (at !== null) act(at);
  });
  one.addEventListener("keydown", (event) => {
    if (!event.repeat) key = event.timeStamp;
  });
  one.addEventListener("click", (event) => {
    if (event.detail === 0) act(key ?? event.timeStamp);
    key = null;
  });
  return one;
}
