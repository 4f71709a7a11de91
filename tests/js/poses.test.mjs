/* The drawn figures say what the rubric says: angles measured back from the drawn points. */

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import { figureOf, frameOf, HEAD, LENGTHS } from "../../static/floor/drawing/poses.js";

const TOLERANCE = 0.5;

/* The poses of the ladder's file: each is one line of it. */
const rubrics = readRubrics(new URL("../../fixtures/ladder.toml", import.meta.url));

function readRubrics(file) {
  const found = {};
  let key = null;
  for (const line of readFileSync(file, "utf8").split("\n")) {
    if (line.startsWith("[[")) key = null;
    const named = /^key = "(.+)"$/.exec(line);
    if (named) key = named[1];
    const pose = /^ {2}\{ pose = "(\w+)", grade = (\d)/.exec(line);
    if (!pose) continue;
    const angles = {};
    const written = /angles = \{([^}]*)\}/.exec(line)[1];
    for (const [, name, value] of written.matchAll(/(\w+) = (-?[\d.]+)/g)) angles[name] = Number(value);
    found[key] ??= {};
    found[key][pose[1]] = { grade: Number(pose[2]), angles, figure: figureOf(angles) };
  }
  return found;
}

function distance([ax, ay], [bx, by]) {
  return Math.hypot(ax - bx, ay - by);
}

/* Degrees from straight up, + = to the right. */
function lean([ax, ay], [bx, by]) {
  return (Math.atan2(bx - ax, by - ay) * 180) / Math.PI;
}

/* The angle at b between a and c. */
function angle(a, b, c) {
  const between = Math.abs(lean(b, a) - lean(b, c));
  return between > 180 ? 360 - between : between;
}

function near(measured, wanted, what) {
  assert.ok(Math.abs(measured - wanted) <= TOLERANCE, `${what}: ${measured}, not ${wanted}`);
}

function all(key) {
  return Object.entries(rubrics[key]).map(([pose, one]) => ({ pose: `${key} ${pose}`, ...one }));
}

test("three rubrics with five poses each are drawn", () => {
  assert.deepEqual(Object.keys(rubrics).sort(), ["bridge-line", "hands-down-line", "sit"]);
  for (const key of Object.keys(rubrics)) {
    assert.equal(all(key).length, 5);
    for (const { figure } of all(key)) assert.notEqual(figure, null);
  }
});

test("the sit is drawn with the angles of its rubric", () => {
  for (const { pose, angles, figure } of all("sit")) {
    near(lean(figure.ankle, figure.knee), angles.shin_lean, `${pose} shin`);
    near(angle(figure.ankle, figure.knee, figure.hip), angles.knee, `${pose} knee`);
    near(lean(figure.hip, figure.shoulder), angles.trunk_lean, `${pose} trunk`);
    near(lean(figure.toes, figure.heel) + 90, angles.heel_lift, `${pose} heel`);
  }
});

test("the hands-down line is drawn with the angles of its rubric", () => {
  for (const { pose, angles, figure } of all("hands-down-line")) {
    near(lean(figure.hand, figure.shoulder), angles.arm_lean, `${pose} arm`);
    near(angle(figure.hand, figure.elbow, figure.shoulder), angles.elbow, `${pose} elbow`);
    near(lean(figure.shoulder, figure.hip), angles.trunk_lean, `${pose} trunk`);
    near(lean(figure.hip, figure.ankle), angles.leg_lean, `${pose} leg`);
  }
});

test("the bridge line is drawn with the angles of its rubric, feet and hands on the floor", () => {
  for (const { pose, angles, figure } of all("bridge-line")) {
    near(lean(figure.hand, figure.shoulder), angles.arm_lean, `${pose} arm`);
    near(angle(figure.hand, figure.elbow, figure.shoulder), angles.elbow, `${pose} elbow`);
    near(angle(figure.ankle, figure.knee, figure.hip), angles.knee, `${pose} knee`);
    for (const point of [figure.hand, figure.ankle, figure.toes]) {
      assert.ok(Math.abs(point[1]) < 0.01, `${pose} stands on the floor`);
    }
  }
});

test("every part of every figure has the same length, whatever the pose", () => {
  const parts = [
    ["ankle", "knee", LENGTHS.shin],
    ["knee", "hip", LENGTHS.thigh],
    ["shoulder", "elbow", LENGTHS.upperArm],
    ["elbow", "hand", LENGTHS.forearm],
    ["shoulder", "head", LENGTHS.neck],
    ["ankle", "toes", LENGTHS.instep],
  ];
  for (const key of Object.keys(rubrics)) {
    for (const { pose, figure } of all(key)) {
      for (const [one, other, length] of parts) {
        const drawn = distance(figure[one], figure[other]);
        assert.ok(Math.abs(drawn - length) < 0.01, `${pose} ${one}-${other}: ${drawn}`);
      }
      const spine = figure.trunk.slice(1).reduce((sum, at, i) => sum + distance(figure.trunk[i], at), 0);
      assert.ok(Math.abs(spine - LENGTHS.trunk) < 0.01, `${pose} trunk: ${spine}`);
    }
  }
});

test("the sit looks as its words say: knees, toes, hips and heels", () => {
  const figures = Object.fromEntries(Object.entries(rubrics.sit).map(([pose, { figure }]) => [pose, figure]));
  const behind = (figure) => figure.heel[0] - figure.hip[0];
  // "Knees ahead of the toes", heels up.
  assert.ok(figures["1a"].knee[0] > figures["1a"].toes[0]);
  assert.ok(figures["1a"].heel[1] > 1);
  for (const pose of ["0", "2", "3"]) assert.ok(figures[pose].knee[0] < figures[pose].toes[0], pose);
  // "Hips over the feet".
  assert.ok(figures["0"].hip[0] > figures["0"].heel[0] && figures["0"].hip[0] < figures["0"].toes[0]);
  // "Hips low, at knee height".
  assert.ok(Math.abs(figures["1b"].hip[1] - figures["1b"].knee[1]) < 4);
  // "Hips behind the heels", and in the right one well behind them: without the hands a fall.
  assert.ok(behind(figures["2"]) > 5);
  assert.ok(behind(figures["3"]) > behind(figures["2"]));
  assert.ok(figures["3"].head[0] < figures["3"].heel[0] + 4);
});

test("the hands-down line looks as its words say", () => {
  const { "0a": folded, "0b": given, 1: upright, 3: right } = rubrics["hands-down-line"];
  const rise = ({ figure }) => figure.ankle[1] - figure.hip[1];
  // "Legs folded back near a right angle": the legs hardly rise above the hips.
  assert.ok(rise(folded) < 3);
  // "Arms give": the head is nearer to the floor than with long arms.
  assert.ok(given.figure.head[1] < right.figure.head[1] - 8);
  assert.ok(rise(upright) > rise(right));
});

test("the bridge line looks as its words say", () => {
  const { "0a": bent, "0b": head, 1: short, 2: nearly, 3: over } = rubrics["bridge-line"];
  // "Head on the floor", and in no other pose.
  assert.ok(Math.abs(head.figure.head[1] - HEAD) < 0.5);
  for (const { figure } of [bent, short, nearly, over]) assert.ok(figure.head[1] > HEAD + 1);
  // "Shoulders well short of the wrists", "nearly over", "over or past".
  assert.ok(short.figure.shoulder[0] > 15);
  assert.ok(nearly.figure.shoulder[0] > 0 && nearly.figure.shoulder[0] < 8);
  assert.ok(over.figure.shoulder[0] <= 0);
  // "The bend is in the low back" against "the bend is spread": the joints between the links.
  const bends = ({ figure: { trunk } }) => [1, 2, 3].map((at) => 180 - angle(trunk[at - 1], trunk[at], trunk[at + 1]));
  const [, , low] = bends(short);
  assert.ok(low > 25 && bends(short)[0] < 1);
  assert.ok(Math.max(...bends(nearly)) - Math.min(...bends(nearly)) < 1);
});

test("all poses of a rubric share one frame, and all of each lies in it", () => {
  for (const key of Object.keys(rubrics)) {
    const frame = frameOf(all(key).map(({ figure }) => figure));
    for (const { pose, figure } of all(key)) {
      for (const [x, y] of [...figure.lines.flat(), ...figure.trunk]) {
        assert.ok(x > frame.x && x < frame.x + frame.width, pose);
        assert.ok(-y > frame.y && -y < frame.y + frame.height, pose);
      }
    }
  }
});

test("angles that no figure is known for are drawn as nothing", () => {
  assert.equal(figureOf({}), null);
  assert.equal(figureOf({ elbow: 90 }), null);
});

test("hips stand behind the heels as far as the server reckons", () => {
  const vectors = JSON.parse(readFileSync(new URL("../vectors/angles.json", import.meta.url), "utf8"));
  assert.equal(vectors.hips.length, 8);
  for (const { angles, behind } of vectors.hips) {
    const { heel, hip } = figureOf(angles);
    assert.ok(Math.abs((heel[0] - hip[0]) / LENGTHS.shin - behind) < 1e-6, JSON.stringify(angles));
  }
});
