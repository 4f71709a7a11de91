/* The joints that are tapped on a picture, and the angles between them, as the engine has them in
   readiness/engine/eyes/pictures.py. Points are [across, down]. Leans are from what is square to the
   floor, + toward the side the child came from; a joint's inside is 180 when straight, and never
   folded: what is bent the other way reads more. */

const SIT = ["heel", "toe", "ankle", "knee", "hip", "shoulder"];
const HANDS = ["wrist", "elbow", "shoulder", "hip", "knee", "ankle"];
export const JOINTS = { sit: SIT, line: HANDS, bridge: HANDS };

const lean = (start, end, level = 0) => ({ kind: "lean", start, end, level });
const bend = (start, joint, end, sense) => ({ kind: "bend", start, joint, end, sense });
const behind = (start, end, unit) => ({ kind: "behind", start, end, unit });

const KNEE = bend("ankle", "knee", "hip", 1);
const ARM = { elbow: bend("wrist", "elbow", "shoulder", -1), arm_lean: lean("wrist", "shoulder") };
export const ANGLES = {
  sit: {
    shin_lean: lean("ankle", "knee"),
    knee: KNEE,
    trunk_lean: lean("hip", "shoulder"),
    hip_behind_heel: behind("heel", "hip", ["ankle", "knee"]),
    heel_lift: lean("toe", "heel", -90),
  },
  line: {
    ...ARM,
    trunk_lean: lean("shoulder", "hip"),
    leg_lean: lean("hip", "ankle"),
    knee: KNEE,
  },
  bridge: { ...ARM, knee: KNEE },
};

/* Joints by name as [x, y], with the floor laid level: x toward the side the child came from, y
   upward. Whichever of the floor's points was tapped first. */
export function upright(joints, [[x1, y1], [x2, y2]], travels) {
  const flip = x2 < x1 ? -1 : 1;
  const length = Math.hypot(x2 - x1, y2 - y1);
  const across = ((x2 - x1) * flip) / length;
  const down = ((y2 - y1) * flip) / length;
  const cameFrom = travels === "left" ? 1 : -1;
  return mapJoints(joints, ([x, y]) => [cameFrom * (x * across + y * down), x * down - y * across]);
}

/* As it would stand side-on if the camera stood so far off: what runs across was shortened by the
   cosine. */
export function turned(body, cosine) {
  return mapJoints(body, ([x, y]) => [x / cosine, y]);
}

export function mapJoints(joints, change) {
  return Object.fromEntries(Object.entries(joints).map(([name, point]) => [name, change(point, name)]));
}

function between(body, start, end) {
  return [body[end][0] - body[start][0], body[end][1] - body[start][1]];
}

export function lengthOf(body, start, end) {
  return Math.hypot(...between(body, start, end));
}

export function riseOf(body, start, end) {
  return between(body, start, end)[1];
}

function leanOf(body, start, end) {
  return (Math.atan2(...between(body, start, end)) * 180) / Math.PI;
}

/* From more than -180 to 180. */
function wrapped(degrees) {
  const rest = (180 - degrees) % 360;
  return 180 - (rest < 0 ? rest + 360 : rest);
}

/* Degrees; how far the hips are behind, in lengths of the shin. */
export function measureOf(angle, body) {
  if (angle.kind === "lean") return wrapped(leanOf(body, angle.start, angle.end) - angle.level);
  if (angle.kind === "behind") return (body[angle.start][0] - body[angle.end][0]) / lengthOf(body, ...angle.unit);
  const lower = leanOf(body, angle.start, angle.joint);
  const upper = leanOf(body, angle.joint, angle.end);
  return 180 - angle.sense * wrapped(lower - upper);
}

export function anglesOf(kind, body) {
  return Object.fromEntries(Object.entries(ANGLES[kind]).map(([name, angle]) => [name, measureOf(angle, body)]));
}

/* The names of two points in the same place between which an angle is read, ["floor"] for the floor's
   two; or null: it can be read. */
export function samePlace(kind, joints, [one, other]) {
  const same = ([x1, y1], [x2, y2]) => x1 === x2 && y1 === y2;
  if (same(one, other)) return ["floor"];
  return linesOf(kind).find(([start, end]) => same(joints[start], joints[end])) ?? null;
}

function linesOf(kind) {
  return Object.values(ANGLES[kind]).flatMap(({ kind: what, start, joint, end, unit }) => {
    if (what === "behind") return [unit];
    return what === "lean"
      ? [[start, end]]
      : [
          [start, joint],
          [joint, end],
        ];
  });
}

/* To which side the child seems to go; a person has the last word. */
export function sideOf(kind, joints) {
  const [start, end] = kind === "sit" ? ["toe", "heel"] : ["ankle", "wrist"];
  return joints[end][0] < joints[start][0] ? "left" : "right";
}
