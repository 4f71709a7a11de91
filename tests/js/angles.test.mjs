/* The tablet's reading of a picture, held to the vectors that the engine made. */

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import { draws, xorshift } from "../../static/floor/eyes/draws.js";
import { JOINTS, samePlace } from "../../static/floor/eyes/pictures.js";
import { readPicture, tappedTwice } from "../../static/floor/eyes/reading.js";

const vectors = JSON.parse(readFileSync(new URL("../vectors/angles.json", import.meta.url), "utf8"));
// A draw in 4,000 may fall on the other side of a border by the last bit of a cosine.
const ONE_DRAW = 1 / 4000 + 1e-12;

const near = (found, expected, about, within = 1e-8) =>
  assert.ok(Math.abs(found - expected) <= within, `${about}: ${found}, not ${expected}`);

test("the generator and its first draw are the engine's", () => {
  const { first, normal, turn } = vectors.generator;
  const next = xorshift();
  assert.deepEqual(
    first.map(() => next()),
    first,
  );
  const [drawn] = draws(JOINTS.sit.length + 2, 1);
  for (const [at, pair] of drawn.taps.entries()) {
    for (const [side, one] of pair.entries()) near(one, normal[at][side], `normal ${at}`);
  }
  near(drawn.turn, turn, "turn");
});

test("every picture is read as the engine reads it: angles, errors, grade, chances", () => {
  assert.ok(vectors.pictures.length > 30);
  for (const [at, picture] of vectors.pictures.entries()) {
    const read = readPicture({ ...picture, regions: vectors.regions[picture.kind] });
    assert.deepEqual(Object.keys(read.angles).sort(), Object.keys(picture.angles).sort());
    for (const [name, [value, error]] of Object.entries(picture.angles)) {
      near(read.angles[name].value, value, `picture ${at}, ${name}`);
      near(read.angles[name].error, error, `picture ${at}, error of ${name}`);
    }
    assert.equal(read.grade, picture.grade, `picture ${at}`);
    for (const [grade, one] of read.chances.entries()) {
      near(one, picture.chances[grade], `picture ${at}, grade ${grade}`, ONE_DRAW);
    }
  }
});

test("taps made twice tell their spread", () => {
  for (const { pairs, sd } of vectors.tapped_twice) near(tappedTwice(pairs), sd, `${pairs.length} pairs`);
});

test("two points in the same place are named", () => {
  for (const { kind, joints, floor, names } of vectors.unreadable) {
    assert.deepEqual(samePlace(kind, joints, floor), names);
  }
  const [{ kind, joints, floor }] = vectors.pictures;
  assert.equal(samePlace(kind, joints, floor), null);
});
