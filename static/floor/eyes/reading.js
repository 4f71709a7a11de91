/* A picture read: each angle with its error, and the grade it suggests with its chances. The formulas
   and their sources stand in readiness/engine/eyes/reading.py; both are held to the same vectors. */

import { DRAWS, draws } from "./draws.js";
import { ANGLES, anglesOf, JOINTS, lengthOf, mapJoints, measureOf, riseOf, turned, upright } from "./pictures.js";

const GRADES = 4;
// How far the camera may stand out of side-on, in degrees.
export const MOST_TURN = 15;
// 95 in 100 of a normal distribution lie within so many standard deviations.
const REACH = 1.959963984540054;

const radians = (degrees) => (degrees * Math.PI) / 180;
const degrees = (turn) => (turn * 180) / Math.PI;

/* "spread": {joints: by name, floor}, the standard deviation of a tap across and down alike, in the
   unit of the points. Answers {angles: {name: {value, error}}, grade, sign, chances, body}; a ladder may
   have no word for a region's sign, then it is null. */
export function readPicture({ kind, joints, floor, travels, spread, regions }) {
  const body = upright(joints, floor, travels);
  const values = anglesOf(kind, body);
  const horizon = (Math.SQRT2 * spread.floor) / distance(...floor);
  const angles = mapJoints(ANGLES[kind], (angle, name) => ({
    value: values[name],
    error: REACH * Math.hypot(byTaps(angle, body, spread, horizon), byTurn(angle, body)),
  }));
  const chances = chancesOf({ kind, joints, floor, travels, spread, regions });
  const { grade, sign = null } = regionOf(regions, values);
  return { angles, grade, sign, chances, body };
}

function distance([x1, y1], [x2, y2]) {
  return Math.hypot(x2 - x1, y2 - y1);
}

/* The standard deviation that comes from the taps, to first order. */
function byTaps(angle, body, { joints: s }, horizon) {
  const { kind, start, joint, end, unit } = angle;
  if (kind === "lean") {
    const own = Math.hypot(s[start], s[end]) / lengthOf(body, start, end);
    return degrees(Math.hypot(own, horizon));
  }
  if (kind === "bend") {
    const a = lengthOf(body, start, joint);
    const b = lengthOf(body, joint, end);
    const c = lengthOf(body, start, end);
    return degrees(Math.hypot(s[start] / a, s[end] / b, (s[joint] * c) / (a * b)));
  }
  const own = measureOf(angle, body) * Math.hypot(s[unit[0]], s[unit[1]]);
  const height = riseOf(body, start, end) * horizon;
  return Math.hypot(s[start], s[end], own, height) / lengthOf(body, ...unit);
}

/* What comes from a camera turned by up to MOST_TURN either way, all turns alike. */
function byTurn(angle, body) {
  const most = measureOf(angle, turned(body, Math.cos(radians(MOST_TURN)))) - measureOf(angle, body);
  return Math.abs(most) / Math.sqrt(5);
}

/* How often each grade comes out if each tap might as well have fallen where its spread lets it; the
   floor's two points come last. */
function chancesOf({ kind, joints, floor, travels, spread, regions }) {
  const names = JOINTS[kind];
  const counts = Array(GRADES).fill(0);
  const moved = ([x, y], [across, down], sd) => [x + sd * across, y + sd * down];
  for (const { taps, turn } of draws(names.length + 2)) {
    const drawn = names.map((name, at) => [name, moved(joints[name], taps[at], spread.joints[name])]);
    const level = floor.map((point, at) => moved(point, taps[names.length + at], spread.floor));
    const body = upright(Object.fromEntries(drawn), level, travels);
    counts[gradeOf(regions, anglesOf(kind, turned(body, Math.cos(radians(MOST_TURN * turn)))))] += 1;
  }
  return counts.map((count) => count / DRAWS);
}

/* The first region of the ladder that holds says the grade, and by which sign; the last holds
   everywhere. */
function regionOf(regions, angles) {
  return regions.find((region) => holds(region, angles));
}

function gradeOf(regions, angles) {
  return regionOf(regions, angles).grade;
}

function holds({ over = {}, under = {}, within = {} }, angles) {
  return (
    Object.entries(over).every(([name, limit]) => angles[name] > limit) &&
    Object.entries(under).every(([name, limit]) => angles[name] < limit) &&
    Object.entries(within).every(([name, [low, high]]) => low <= angles[name] && angles[name] <= high)
  );
}

/* The spread of points that are each the middle of two taps, from how far the two differ; so few
   differences tell it only roughly, so it is made wider by Student's t over the normal. */
export function tappedTwice(pairs) {
  const squares = pairs.reduce((sum, [a, b]) => sum + (a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2, 0);
  const sd = Math.sqrt(squares / (8 * pairs.length));
  const free = 2 * pairs.length;
  const z2 = REACH ** 2;
  return sd * (1 + (z2 + 1) / (4 * free) + (5 * z2 ** 2 + 16 * z2 + 3) / (96 * free ** 2));
}
