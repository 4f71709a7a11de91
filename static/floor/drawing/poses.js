/* The rubrics as figures: each pose is drawn from the very angles that its grade stands for, so
   that the drawing is the rubric. Seen from the side; x grows to the right, y upward, in
   hundredths of the child's height. The child travels backward to the left, and so faces right
   before the hands land. */

import { draw, drawing } from "./dom.js";

/* Lengths of a plain figure, in hundredths of its height. They only have to look right. */
export const LENGTHS = {
  foot: 13,
  // From the toes back to the ankle: the heel stands out behind it.
  instep: 8,
  shin: 25,
  thigh: 24.5,
  trunk: 30,
  neck: 10,
  upperArm: 17,
  forearm: 16,
};
export const HEAD = 6;
const SPINE_LINKS = 4;
const LINK = LENGTHS.trunk / SPINE_LINKS;
const MARGIN = 7;
const ARROW = 16;

/* The figure of a pose, or null for angles that no figure is known for. Each is {lines: lists of
   points that are joined, head: its centre, and the joints by name}. */
export function figureOf(angles) {
  if ("shin_lean" in angles) return sit(angles);
  if ("leg_lean" in angles) return handsDown(angles);
  if ("arm_lean" in angles && "knee" in angles) return bridge(angles);
  return null;
}

/* A point so far away, in a direction so many degrees from straight up, + = to the right. */
function pointFrom([x, y], length, lean) {
  const turn = (lean * Math.PI) / 180;
  return [x + length * Math.sin(turn), y + length * Math.cos(turn)];
}

/* The sit, built up from the toes. Leans: + = forward, which is to the right. */
function sit({ shin_lean, knee: bend, trunk_lean, heel_lift = 0 }) {
  const toes = [0, 0];
  const sole = -90 + heel_lift;
  const ankle = pointFrom(toes, LENGTHS.instep, sole);
  const heel = pointFrom(toes, LENGTHS.foot, sole);
  const knee = pointFrom(ankle, LENGTHS.shin, shin_lean);
  const hip = pointFrom(knee, LENGTHS.thigh, shin_lean - (180 - bend));
  const shoulder = pointFrom(hip, LENGTHS.trunk, trunk_lean);
  const head = pointFrom(shoulder, LENGTHS.neck, trunk_lean);
  // Both hands are held from in front.
  const elbow = pointFrom(shoulder, LENGTHS.upperArm, 100);
  const hand = pointFrom(elbow, LENGTHS.forearm, 90);
  return {
    kind: "sit",
    toes,
    heel,
    ankle,
    knee,
    hip,
    shoulder,
    elbow,
    hand,
    head,
    lines: [
      [heel, toes],
      [ankle, knee, hip],
      [shoulder, elbow, hand],
    ],
    trunk: [hip, shoulder],
    plumb: heel,
  };
}

/* The moment the hands land, built up from the hands. Leans: + = toward the side the child came
   from, which is to the right. */
function handsDown({ arm_lean, trunk_lean, leg_lean, elbow: bend }) {
  const { hand, elbow, shoulder } = arm(arm_lean, bend);
  const hip = pointFrom(shoulder, LENGTHS.trunk, trunk_lean);
  const head = pointFrom(shoulder, LENGTHS.neck, trunk_lean + 180);
  const knee = pointFrom(hip, LENGTHS.thigh, leg_lean);
  const ankle = pointFrom(knee, LENGTHS.shin, leg_lean);
  const toes = pointFrom(ankle, LENGTHS.instep, leg_lean);
  return {
    kind: "hands-down",
    hand,
    elbow,
    shoulder,
    head,
    hip,
    knee,
    ankle,
    toes,
    lines: [
      [hand, elbow, shoulder],
      [hip, knee, ankle, toes],
    ],
    trunk: [shoulder, hip],
    plumb: hand,
  };
}

/* The bridge, hands to the left. The rubric gives the arms and the knees; how the shins stand
   follows the knees, and the back is bent so that it joins hips and shoulders. The further the
   shoulders are short of the wrists, the more of the bend is in the low back. */
function bridge({ arm_lean, elbow: bend, knee: kneeBend }) {
  const { hand, elbow, shoulder } = arm(arm_lean, bend);
  // Leans toward the hands, which are to the left.
  const shin = 0.6 * (kneeBend - 90) - 15;
  const thigh = shin + 180 - kneeBend;
  const height = Math.cos((shin * Math.PI) / 180) * LENGTHS.shin + Math.cos((thigh * Math.PI) / 180) * LENGTHS.thigh;
  const links = backLinks(0.6 * (180 - arm_lean - thigh), lowBackShare(arm_lean), shoulder[1] - height);
  const trunk = [shoulder];
  for (const lean of links.toReversed()) trunk.push(pointFrom(trunk.at(-1), LINK, 180 - lean));
  const hip = trunk.at(-1);
  const knee = pointFrom(hip, LENGTHS.thigh, 180 - thigh);
  const ankle = pointFrom(knee, LENGTHS.shin, 180 - shin);
  const toes = pointFrom(ankle, LENGTHS.instep, 90);
  const heel = pointFrom(toes, LENGTHS.foot, -90);
  // The head hangs between the arms, at most down to the floor.
  const down = Math.min(LENGTHS.neck * 0.97, shoulder[1] - HEAD);
  const head = [shoulder[0] - Math.sqrt(LENGTHS.neck ** 2 - down ** 2), shoulder[1] - down];
  return {
    kind: "bridge",
    hand,
    elbow,
    shoulder,
    head,
    hip,
    knee,
    ankle,
    heel,
    toes,
    lines: [
      [hand, elbow, shoulder],
      [hip, knee, ankle],
      [heel, toes],
    ],
    trunk,
    plumb: hand,
  };
}

/* The hand on the floor, the shoulder at the arm's lean from it, and between them the elbow, which
   gives way to the left. */
function arm(lean, bend) {
  const { upperArm, forearm } = LENGTHS;
  const turn = (bend * Math.PI) / 180;
  const reach = Math.sqrt(upperArm ** 2 + forearm ** 2 - 2 * upperArm * forearm * Math.cos(turn));
  const hand = [0, 0];
  const shoulder = pointFrom(hand, reach, lean);
  const off = Math.asin(Math.min(1, (upperArm * Math.sin(turn)) / reach)) * (180 / Math.PI);
  return { hand, shoulder, elbow: pointFrom(hand, forearm, lean - off) };
}

function lowBackShare(armLean) {
  return Math.max(0, Math.min(1, (armLean - 10) / 25));
}

/* The leans of the links of the back, from the hips on: their bends add up to so much, and
   together they rise by so much. */
function backLinks(bend, low, rise) {
  const even = 1 / (SPINE_LINKS - 1);
  const shares = [even + (1 - even) * low, even * (1 - low), even * (1 - low)];
  const leans = (first) => {
    const all = [first];
    for (const share of shares) all.push(all.at(-1) + share * bend);
    return all;
  };
  const rises = (first) => leans(first).reduce((sum, lean) => sum + LINK * Math.cos((lean * Math.PI) / 180), 0);
  // The steeper the first link, the higher the shoulders: halve until it fits.
  let [steep, flat] = [-60, 180 - bend / 2];
  for (let step = 0; step < 40; step += 1) {
    const middle = (steep + flat) / 2;
    if (rises(middle) > rise) steep = middle;
    else flat = middle;
  }
  return leans(steep);
}

function pointsOf(figure) {
  const [x, y] = figure.head;
  const round = [
    [x - HEAD, y - HEAD],
    [x + HEAD, y + HEAD],
  ];
  return [...figure.lines.flat(), ...figure.trunk, ...round];
}

/* One frame for all poses of a rubric: the figures are told apart by their angles alone. */
export function frameOf(figures) {
  const points = figures.flatMap(pointsOf);
  const xs = points.map(([x]) => x);
  const ys = points.map(([, y]) => y);
  const left = Math.min(...xs) - MARGIN;
  const top = Math.max(...ys) + MARGIN;
  return {
    x: left,
    y: -top,
    width: Math.max(...xs) + MARGIN - left,
    height: top - Math.min(0, ...ys) + ARROW,
  };
}

/* The drawings of a rubric, one for each pose, null where no figure is known. */
export function drawPoses(rubric) {
  const figures = rubric.poses.map((pose) => figureOf(pose.angles ?? {}));
  const known = figures.filter(Boolean);
  if (known.length === 0) return figures;
  const frame = frameOf(known);
  return figures.map((figure) => figure && drawFigure(figure, frame));
}

function drawFigure(figure, frame) {
  const { x, y, width, height } = frame;
  const viewBox = [x, y, width, height].map((one) => one.toFixed(1)).join(" ");
  const [headX, headY] = figure.head;
  const middle = x + width / 2;
  return drawing(
    viewBox,
    "figure",
    draw("path", { class: "ground", d: `M${(x + 2).toFixed(1)} 3h${(width - 4).toFixed(1)}` }),
    draw("path", { class: "plumb", d: `M${figure.plumb[0].toFixed(1)} 3V${(y + 2).toFixed(1)}` }),
    ...figure.lines.map((points) => draw("path", { class: "limb", d: pathOf(points) })),
    draw("path", { class: "trunk", d: pathOf(figure.trunk) }),
    draw("circle", { class: "head", cx: headX.toFixed(1), cy: (-headY).toFixed(1), r: HEAD }),
    // The way the child travels.
    figure.kind === "bridge"
      ? null
      : draw("path", { class: "way", d: `M${(middle + 11).toFixed(1)} 10h-22m5 -4l-5 4l5 4` }),
  );
}

function pathOf(points) {
  return points.map(([x, y], at) => `${at ? "L" : "M"}${x.toFixed(1)} ${(-y).toFixed(1)}`).join("");
}
