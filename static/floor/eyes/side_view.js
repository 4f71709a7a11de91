/* Angles from the side: asks, films some seconds, one frame is picked, the joints are tapped on it; then
   the angles stand there with their errors, and the grade that they suggest. A person grades. No
   picture leaves this page or is stored; it is gone with the dialog, after a minute, and when the page
   is hidden (memory.js). */

import { button, fillWith, make } from "../drawing/dom.js";
import { drawPoses } from "../drawing/poses.js";
import { formatNumber, say, sayCode } from "../drawing/words.js";
import { makeBoard } from "./board.js";
import { PictureMemory } from "./memory.js";
import { ANGLES, JOINTS, lengthOf, mapJoints, samePlace, sideOf } from "./pictures.js";
import { readPicture, tappedTwice } from "./reading.js";

const FLOOR = ["floor-1", "floor-2"];
const AGAIN = "again-";
// Of each picture the lines that are drawn between its joints.
const LINES = {
  sit: [
    ["toe", "heel"],
    ["ankle", "knee"],
    ["knee", "hip"],
    ["hip", "shoulder"],
  ],
  line: [
    ["wrist", "elbow"],
    ["elbow", "shoulder"],
    ["shoulder", "hip"],
    ["hip", "knee"],
    ["knee", "ankle"],
  ],
  bridge: [
    ["wrist", "elbow"],
    ["elbow", "shoulder"],
    ["hip", "knee"],
    ["knee", "ankle"],
  ],
};

/* "log" takes the grade that a person gives, and what is written down beside it. */
export function openSideView({ child, drill, spread, log }) {
  const body = make("div", { class: "sheet-body" });
  const left = make("p", { class: "side-left", role: "timer" });
  const close = button("btn", () => dialog.close(), say("side-close"));
  const title = make("h2", { id: "side-title" }, say("side-title", { name: child.name }));
  const dialog = make(
    "dialog",
    { class: "sheet side-view", "aria-labelledby": "side-title" },
    make("div", { class: "sheet-head" }, title, left, close),
    body,
  );
  const view = { child, drill, kind: drill.rubric.picture, spread, log, dialog, body };
  view.memory = new PictureMemory(() => showGone(view));
  const ticking = setInterval(() => showTime(view.memory, left), 500);
  dialog.addEventListener("close", () => {
    clearInterval(ticking);
    view.closed = true;
    view.memory.forget();
    dialog.remove();
  });
  document.body.append(dialog);
  showQuestions(view);
  dialog.showModal();
}

function showTime({ goneAt }, left) {
  const seconds = goneAt === null ? null : Math.max(0, Math.ceil((goneAt - performance.now()) / 1000));
  left.textContent = seconds === null ? "" : say("side-left", { n: seconds });
}

/* Each time: what has to be so, and the child's own yes. */
function showQuestions(view) {
  const { child, body } = view;
  const yes = new Set();
  const open = button("btn act", () => film(view), say("side-open"));
  open.disabled = true;
  const said = ["side-child-says", "side-adult-here"].map((key) => {
    const tap = button(
      "btn",
      () => {
        yes.has(key) ? yes.delete(key) : yes.add(key);
        tap.setAttribute("aria-pressed", yes.has(key));
        open.disabled = yes.size < 2;
      },
      say(key, { name: child.name }),
    );
    tap.setAttribute("aria-pressed", "false");
    return tap;
  });
  const points = ["side-rule-clothes", "side-rule-frame", "side-rule-spot", "side-rule-memory", "side-rule-screenshot"];
  fillWith(
    body,
    make(
      "ul",
      { class: "reasons" },
      points.map((key) => make("li", {}, say(key, { name: child.name }))),
    ),
    make("div", { class: "options" }, said),
    make("div", { class: "options" }, open),
  );
}

async function film(view) {
  const { memory, body } = view;
  const video = make("video", {
    class: "side-picture",
    muted: true,
    playsinline: true,
    "aria-label": say("side-live"),
  });
  const stop = button("btn act", () => pick(view), say("side-stop"));
  fillWith(body, make("p", {}, say("side-film")), video, make("div", { class: "options" }, stop));
  try {
    await memory.open(video);
  } catch {
    fillWith(body, make("p", { class: "big" }, say("side-no-camera")));
  }
}

function pick(view) {
  const { memory, body } = view;
  memory.stop();
  const { frames } = memory;
  if (frames.length === 0) return fillWith(body, make("p", { class: "big" }, say("side-no-frame")));
  const picture = make("canvas", { class: "side-picture" });
  const slider = make("input", { type: "range", min: 0, max: frames.length - 1, "aria-label": say("side-moment") });
  const show = () => {
    const frame = frames[slider.value];
    memory.paint(picture, frame, [0, 0, frame.width, frame.height], frame.width, frame.height);
  };
  const step = (by) => () => {
    slider.value = Number(slider.value) + by;
    show();
  };
  slider.value = frames.length - 1;
  slider.addEventListener("input", show);
  show();
  const twice = make("input", { type: "checkbox" });
  const chosen = () => {
    const frame = frames[slider.value];
    memory.keepOnly(frame);
    tapJoints(view, frame, twice.checked);
  };
  fillWith(
    body,
    make("p", {}, say("side-pick")),
    picture,
    make(
      "div",
      { class: "side-moment" },
      button("btn", step(-1), say("side-before")),
      slider,
      button("btn", step(1), say("side-after")),
    ),
    make("label", { class: "side-twice" }, twice, " ", say("side-twice")),
    make("div", { class: "options" }, button("btn act", chosen, say("side-this-one"))),
  );
}

function tapJoints(view, frame, twice) {
  const { memory, kind, body } = view;
  const once = [...FLOOR, ...JOINTS[kind]];
  const wanted = twice ? [...once, ...once.map((key) => AGAIN + key)] : once;
  const asks = make("p", { class: "big", role: "status" });
  const read = button("btn act", () => showReading(view, board, twice), say("side-read"));
  const back = button("btn", () => board.undo(), say("side-back"));
  const board = makeBoard({
    memory,
    frame,
    wanted,
    nameOf: (key) => sayCode("joints", key.replace(AGAIN, "")),
    lines: [FLOOR, ...LINES[kind]],
    onChange: update,
  });
  fillWith(body, asks, board.element, make("div", { class: "options" }, back, read));
  update();

  function update() {
    const next = board.next();
    const n = board.points.size;
    const about = { joint: next && sayCode("joints", next.replace(AGAIN, "")), n: n + 1, all: wanted.length };
    asks.textContent = next ? say(next.startsWith(AGAIN) ? "side-tap-again" : "side-tap", about) : say("side-tapped");
    read.disabled = next !== null;
    back.disabled = n === 0;
  }
}

/* The middle of both taps, and how far taps scatter: from the two of each, or the studio's own, which
   is in lengths of the shin. */
function measured({ kind, spread }, { points }, twice) {
  const place = (key) => {
    const [one, other] = [points.get(key), points.get(AGAIN + key) ?? points.get(key)];
    return [(one[0] + other[0]) / 2, (one[1] + other[1]) / 2];
  };
  const joints = Object.fromEntries(JOINTS[kind].map((name) => [name, place(name)]));
  const floor = FLOOR.map(place);
  const pairs = [...FLOOR, ...JOINTS[kind]].map((key) => [points.get(key), points.get(AGAIN + key)]);
  const sd = twice ? tappedTwice(pairs) : spread * lengthOf(joints, "ankle", "knee");
  return { kind, joints, floor, spread: { joints: mapJoints(joints, () => sd), floor: sd } };
}

function showReading(view, board, twice) {
  const about = measured(view, board, twice);
  const { kind, joints, floor } = about;
  if (samePlace(kind, joints, floor)) {
    view.body.querySelector(".big").textContent = say("side-same-place");
    return;
  }
  // What was tapped is enough from here on.
  view.read = true;
  view.memory.forget();
  drawReading(view, { ...about, regions: view.drill.rubric.regions, twice }, sideOf(kind, joints));
}

function drawReading(view, about, travels) {
  const { child, drill, body, log, dialog } = view;
  const read = readPicture({ ...about, travels });
  const { poses, unseen } = drill.rubric;
  const suggested = poses.find(({ grade }) => grade === read.grade);
  const own = mapJoints(read.angles, ({ value }) => value);
  const [mine, rubric] = drawPoses({ poses: [{ angles: own }, suggested] });
  const keep = (grade) => () => {
    dialog.close();
    log(grade, partOf(about, read));
  };
  const other = travels === "left" ? "right" : "left";
  const grades = [...new Set(poses.map(({ grade }) => grade))];
  fillWith(
    body,
    make(
      "div",
      { class: "side-beside" },
      make("figure", {}, mine, make("figcaption", {}, say("side-read-here", { name: child.name }))),
      make(
        "figure",
        {},
        rubric,
        make("figcaption", {}, `${say("grade-number", { n: read.grade })}: ${suggested.words}`),
      ),
      make(
        "ul",
        { class: "side-angles" },
        Object.entries(read.angles).map(([name, angle]) => make("li", {}, angleText(name, angle))),
      ),
    ),
    make("p", { class: "big" }, suggestion(read)),
    make("p", {}, say("side-at-most", { n: read.grade, unseen })),
    make(
      "div",
      { class: "options" },
      button("btn act", keep(read.grade), say("side-keep", { n: read.grade })),
      grades
        .filter((grade) => grade !== read.grade)
        .map((grade) => button("btn", keep(grade), say("side-give", { n: grade }))),
    ),
    make("p", {}, say("side-best-there-is")),
    make(
      "div",
      { class: "options wide" },
      button("btn", () => drawReading(view, about, other), say(`side-goes-${travels}`)),
    ),
  );
}

function angleText(name, { value, error }) {
  const what = sayCode("angles", name);
  if (ANGLES.sit[name]?.kind === "behind") {
    return say("side-behind", { what, value: formatNumber(value), error: formatNumber(error) });
  }
  return say("side-angle", { what, value: Math.round(value), error: Math.ceil(error) });
}

/* Never told as certain: the draws know of taps and of the camera's turn alone. */
function suggestion({ grade, sign, chances }) {
  const n = Math.min(9, Math.floor(chances[grade] * 10));
  return sign ? say("side-suggests-by", { grade, n, sign }) : say("side-suggests", { grade, n });
}

/* What the line carries: angles, errors, joints in lengths of the shin, no pixels. */
function partOf({ kind, spread, twice }, { angles, grade, chances, body }) {
  const shin = lengthOf(body, "ankle", "knee");
  const [x, y] = body[JOINTS[kind][0]];
  const short = (number) => Math.round(number * 1000) / 1000 + 0;
  return {
    kind,
    angles: mapJoints(angles, ({ value, error }) => [short(value), short(error)]),
    joints: mapJoints(body, (point) => [short((point[0] - x) / shin), short((point[1] - y) / shin)]),
    spread: short(spread.floor / shin),
    twice,
    suggests: grade,
    chances: chances.map(short),
  };
}

/* The time is over, or the page was hidden: nothing is left to look at. */
function showGone(view) {
  if (view.read || view.closed) return;
  fillWith(view.body, make("p", { class: "big", role: "status" }, say("side-gone")));
}
