/* Children to an adult who watches. 10, 8 and 6: common practice, no source. */

import assert from "node:assert/strict";
import { test } from "node:test";
import { heldHere, nobodySpots, roomNow } from "../../static/floor/rules/room.js";

function child(open = [], small = false) {
  return { small, drills: Object.fromEntries(open.map((key) => [key, { open: true }])) };
}

function pack(spotters = {}) {
  const drills = ["hollow-hold", "back-walkover", "handspring"].map((key) => ({ key }));
  const most = { usual: 10, handsprings: 8, small: 6 };
  const about = { coaches: 2, none: [], lapsed: [], most, handsprings: ["handspring"], ...spotters };
  return { drills, rules: { spotted: ["back-walkover", "handspring"] }, spotters: about };
}

const several = (n, ...about) => Array.from({ length: n }, () => child(...about));
const HELD = ["back-walkover"];
const SPRING = ["hollow-hold", "handspring"];

test("held is what a child here has begun and a spotter holds", () => {
  assert.deepEqual(heldHere(pack(), [child(["hollow-hold"])]), []);
  assert.deepEqual(heldHere(pack(), [child(), child(SPRING)]), ["handspring"]);
});

test("one of two adults spots, so the other one has all the children", () => {
  assert.deepEqual(roomNow(pack(), several(9, HELD)), { watching: 1, each: 9, most: 10, tooMany: false, alone: false });
  assert.equal(roomNow(pack({ coaches: 3 }), several(9, HELD)).each, 5);
});

test("with nothing held nobody spots", () => {
  assert.equal(roomNow(pack(), several(9, ["hollow-hold"])).watching, 2);
  assert.equal(roomNow(pack({ coaches: 1 }), several(9)).alone, false);
});

for (const [name, here, over] of [
  ["10 usually", (n) => several(n, HELD), 11],
  ["8 while handsprings are held", (n) => several(n, SPRING), 9],
  ["6 with a child under 7", (n) => [child([], true), ...several(n - 1, HELD)], 7],
  ["6 with both", (n) => [child([], true), ...several(n - 1, SPRING)], 7],
]) {
  test(`too many is over ${name}`, () => {
    assert.equal(roomNow(pack(), here(over)).tooMany, true);
    assert.equal(roomNow(pack(), here(over - 1)).tooMany, false);
    assert.equal(roomNow(pack(), here(over)).most, over - 1);
  });
}

test("a studio's own number", () => {
  const own = pack({ most: { usual: 4, handsprings: 3, small: 2 } });
  assert.equal(roomNow(own, several(5, HELD)).tooMany, true);
  assert.equal(roomNow(own, several(4, HELD)).tooMany, false);
});

test("an only adult who spots is alone, and there is nobody who watches", () => {
  assert.deepEqual(roomNow(pack({ coaches: 1 }), several(5, HELD)), {
    watching: 0,
    each: null,
    most: 10,
    tooMany: false,
    alone: true,
  });
});

test("what nobody may spot is said of what is held here alone", () => {
  const none = { none: ["back-walkover", "handspring"] };
  assert.deepEqual(nobodySpots(pack(none), several(2, HELD)), ["back-walkover"]);
  assert.deepEqual(nobodySpots(pack({ none: null }), several(2, HELD)), []);
});
