/* Shapes, and moments of the handspring, as figures drawn large from angles. Leans are degrees from
   straight up, + to the right; the child faces right and travels to the left. The hollow is drawn as
   one body with one set of angles wherever it comes: that is what is asked (common practice). */

import { draw, drawing } from "../drawing/dom.js";
import { figureOf, HEAD, LENGTHS } from "../drawing/poses.js";

// From the toes up. "turn" tips the whole body over; "up": in the air, in hundredths of the height.
const HOLLOW = { foot: -20, shin: -14, thigh: -8, low: 4, high: 18, arm: 6 };
const BODIES = {
  hollow: HOLLOW,
  "second-flight": { ...HOLLOW, turn: 62, up: 34 },
  rebound: { ...HOLLOW, up: 16 },
  arch: { foot: -20, shin: 12, thigh: 8, low: -6, high: -20, arm: -10 },
  tall: { foot: -90, shin: 0, thigh: 0, low: 0, high: 0, arm: 0 },
  landing: { foot: -90, shin: 12, thigh: -16, low: 14, high: 18, arm: 55 },
};
// Of the rubrics' poses, with where the face looks.
const RUBRIC = {
  sit: { face: 90, angles: { shin_lean: 2, knee: 115, trunk_lean: 20 } },
  "hands-down": { face: -65, angles: { arm_lean: 10, trunk_lean: 25, leg_lean: 50, elbow: 180 } },
};
const NOSE = 2.4;
const MARGIN = 9;

/* The figure of a shape or moment, large, on a floor. "says": for who cannot see it. */
export function drawMoment(name, says) {
  const { lines, trunk, head, face } = BODIES[name] ? standing(BODIES[name]) : ofRubric(RUBRIC[name]);
  const points = [...lines.flat(), ...trunk, [head[0] - HEAD, head[1] - HEAD], [head[0] + HEAD, head[1] + HEAD]];
  const [xs, ys] = [points.map(([x]) => x), points.map(([, y]) => y)];
  const left = Math.min(...xs) - MARGIN;
  const top = Math.max(...ys) + MARGIN;
  const width = Math.max(...xs) + MARGIN - left;
  const svg = drawing(
    `${left} ${-top} ${width} ${top + MARGIN}`,
    "figure",
    draw("path", { class: "ground", d: `M${left + 2} 3h${width - 4}` }),
    ...lines.map((line) => draw("path", { class: "limb", d: pathOf(line) })),
    draw("path", { class: "trunk", d: pathOf(trunk) }),
    draw("circle", { class: "head", cx: head[0], cy: -head[1], r: HEAD }),
    // Which way the face is: without it an arch is a hollow that looks the other way.
    draw("circle", {
      class: "head",
      cx: head[0] + HEAD * Math.sin((face * Math.PI) / 180),
      cy: -head[1] - HEAD * Math.cos((face * Math.PI) / 180),
      r: NOSE,
    }),
  );
  svg.removeAttribute("aria-hidden");
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-label", says);
  return svg;
}

function ofRubric({ face, angles }) {
  return { face, ...figureOf(angles) };
}

function standing({ foot, shin, thigh, low, high, arm, turn = 0, up = 0 }) {
  const step = ([x, y], length, lean) => {
    const angle = ((lean + turn) * Math.PI) / 180;
    return [x + length * Math.sin(angle), y + length * Math.cos(angle)];
  };
  const toes = [0, up];
  const ankle = step(toes, LENGTHS.instep, foot);
  const knee = step(ankle, LENGTHS.shin, shin);
  const hip = step(knee, LENGTHS.thigh, thigh);
  const waist = step(hip, LENGTHS.trunk / 2, low);
  const shoulder = step(waist, LENGTHS.trunk / 2, high);
  const hand = step(shoulder, LENGTHS.upperArm + LENGTHS.forearm, arm);
  return {
    lines: [
      [toes, ankle, knee, hip],
      [shoulder, hand],
    ],
    trunk: [hip, waist, shoulder],
    head: step(shoulder, LENGTHS.neck, high / 2),
    face: 90 + turn,
  };
}

function pathOf(points) {
  return points.map(([x, y], at) => `${at ? "L" : "M"}${x.toFixed(1)} ${(-y).toFixed(1)}`).join("");
}
