/* The drawn signs: support, turns, the beam, the gate. Each is beside its word, so all are hidden
   from screen readers. */

import { draw, drawing } from "./dom.js";

/* Three blocks, as many filled as there is support. */
export function blocks(amount) {
  const rects = [0, 1, 2].map((at) =>
    draw("rect", {
      x: 1 + at * 11,
      y: 1,
      width: 8,
      height: 15,
      rx: 2,
      class: at < amount ? "filled" : null,
    }),
  );
  return drawing("0 0 32 17", "blocks", ...rects);
}

/* Filled for a clean turn, struck through for one that was not. */
export function mark(clean) {
  const shapes = clean
    ? [draw("circle", { cx: 7, cy: 7, r: 5, class: "filled" })]
    : [draw("circle", { cx: 7, cy: 7, r: 4.2 }), draw("path", { d: "M1.5 12.5L12.5 1.5" })];
  return drawing("0 0 14 14", "mark", ...shapes);
}

export function notCleanSign() {
  return drawing("0 0 30 30", "sign", draw("circle", { cx: 15, cy: 15, r: 10 }), draw("path", { d: "M6 24L24 6" }));
}

/* A value between 0 and 1 with a notch where the gate opens. */
export function beam(value, need) {
  const shown = Math.max(0, Math.min(1, value)) * 100;
  const notch = Math.max(0, Math.min(1, need)) * 100;
  const svg = drawing(
    "0 0 100 20",
    "beam",
    draw("rect", { class: "track", x: 0, y: 4, width: 100, height: 12 }),
    draw("rect", { class: "fill", x: 0, y: 4, width: shown, height: 12 }),
    draw("path", { class: "halo", d: `M${notch} 4V16` }),
    draw("path", { class: "notch", d: `M${notch} 0V20` }),
  );
  svg.setAttribute("preserveAspectRatio", "none");
  return svg;
}

const BARS = {
  paused: "M5 10H25M5 18H25",
  "re-check": "M5 9L11 14M11 25H20",
  closed: "M5 14H25",
};

/* A gate: two posts, and between them what its state is. */
export function gate(state) {
  return drawing("0 0 30 28", "gate", draw("path", { d: "M5 3V25M25 3V25" }), draw("path", { d: BARS[state] }));
}
