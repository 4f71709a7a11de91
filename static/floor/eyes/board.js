/* A still picture on which points are tapped, one after the other, and dragged under a magnifier. All
   points are in the picture's own pixels. */

import { draw, make } from "../drawing/dom.js";

// In pixels of the screen: what is so near to a point takes hold of it.
const GRASP = 30;
// Sides of the magnifier, and how many times it shows the picture's pixels.
const GLASS = 176;
const ZOOM = 3;
const RADIUS = 9;
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/* "wanted": the keys of the points in the order in which they are tapped. "nameOf" says each for who
   cannot see it; "lines": pairs of keys that are joined. "onChange" is called with the board. */
export function makeBoard({ memory, frame, wanted, nameOf, lines, onChange }) {
  const { width, height } = frame;
  const points = new Map();
  const picture = make("canvas", { class: "side-picture" });
  const glass = make("canvas", { class: "side-glass", width: 0, height: 0, hidden: true });
  const marks = draw("svg", { class: "side-marks", viewBox: `0 0 ${width} ${height}`, tabindex: 0 });
  const element = make("div", { class: "side-board" }, picture, marks, glass);
  let held = null;
  memory.paint(picture, frame, [0, 0, width, height], width, height);

  const board = { element, points, next: () => wanted.find((key) => !points.has(key)) ?? null, undo };
  marks.addEventListener("pointerdown", grasp);
  marks.addEventListener("pointermove", (event) => held && moveTo(held, placeOf(event)));
  for (const ended of ["pointerup", "pointercancel"]) marks.addEventListener(ended, release);
  marks.addEventListener("keydown", byKey);
  redraw();
  return board;

  function scale() {
    return width / marks.getBoundingClientRect().width;
  }

  function placeOf(event) {
    const { left, top } = marks.getBoundingClientRect();
    return [(event.clientX - left) * scale(), (event.clientY - top) * scale()];
  }

  function grasp(event) {
    event.preventDefault();
    const place = placeOf(event);
    const near = [...points].map(([key, [x, y]]) => [key, Math.hypot(x - place[0], y - place[1])]);
    near.sort(([, one], [, other]) => one - other);
    // While points are still wanted only the one before can be moved: the next may be right beside.
    const free = board.next() === null ? near : near.filter(([key]) => key === [...points.keys()].at(-1));
    const [nearest] = free.filter(([, far]) => far < GRASP * scale());
    held = nearest?.[0] ?? board.next();
    if (held === null) return;
    marks.setPointerCapture(event.pointerId);
    moveTo(held, nearest ? points.get(held) : place);
  }

  function moveTo(key, [x, y]) {
    points.set(key, [Math.max(0, Math.min(width, x)), Math.max(0, Math.min(height, y))]);
    look(points.get(key));
    redraw();
  }

  function release() {
    if (held === null) return;
    held = null;
    glass.hidden = true;
    redraw();
    onChange(board);
  }

  function undo() {
    points.delete([...points.keys()].at(-1));
    redraw();
    onChange(board);
  }

  /* Enter puts the next point into the middle; arrows move the point that has the focus. */
  function byKey(event) {
    const key = event.target.dataset.point;
    const step = ARROWS[event.key];
    if (event.key === "Enter" && board.next()) moveTo(board.next(), [width / 2, height / 2]);
    else if (key && step) {
      const far = event.shiftKey ? 10 : 1;
      const [x, y] = points.get(key);
      moveTo(key, [x + far * step[0], y + far * step[1]]);
    } else return;
    event.preventDefault();
    glass.hidden = true;
    onChange(board);
    marks.querySelector(`[data-point="${key ?? [...points.keys()].at(-1)}"]`)?.focus();
  }

  /* The magnifier stands on the side away from the finger. */
  function look([x, y]) {
    const part = GLASS / ZOOM;
    memory.paint(glass, frame, [x - part / 2, y - part / 2, part, part], GLASS, GLASS);
    glass.classList.toggle("at-end", x < width / 2);
    glass.hidden = false;
    const pen = glass.getContext("2d");
    for (const [colour, thick] of [
      ["#11171e", 4],
      ["#fffdf8", 1.5],
    ]) {
      pen.strokeStyle = colour;
      pen.lineWidth = thick;
      pen.beginPath();
      pen.moveTo(GLASS / 2, 0);
      pen.lineTo(GLASS / 2, GLASS);
      pen.moveTo(0, GLASS / 2);
      pen.lineTo(GLASS, GLASS / 2);
      pen.stroke();
    }
  }

  function redraw() {
    const seen = scaleOrOne();
    const joined = lines.filter((pair) => pair.every((key) => points.has(key)));
    const path = ([one, other]) => `M${points.get(one).join(" ")}L${points.get(other).join(" ")}`;
    marks.replaceChildren(
      ...joined.map((pair) => draw("path", { class: "under", d: path(pair), "stroke-width": 5 * seen })),
      ...joined.map((pair) => draw("path", { d: path(pair), "stroke-width": 2.5 * seen })),
      ...[...points].map(([key, [cx, cy]]) =>
        draw("circle", {
          cx,
          cy,
          r: RADIUS * seen,
          "stroke-width": 3 * seen,
          class: key === held ? "held" : null,
          "data-point": key,
          tabindex: 0,
          role: "img",
          "aria-label": nameOf(key),
        }),
      ),
    );
  }

  function scaleOrOne() {
    return marks.isConnected ? scale() : 1;
  }
}
