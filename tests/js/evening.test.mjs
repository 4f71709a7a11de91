/* Turns tonight, counted for each child; falls, told and taken back. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { FALL, hasHappened, toTell, turnCounts } from "../../static/floor/rules/evening.js";
import { ownReports } from "../../static/floor/rules/reading.js";

const turn = (id, about = {}) => ({ kind: "turn", id, child: "mai", drill: "roll", clean: true, ...about });
const pack = {
  rules: { stops: { "stopped-before": "before", tucked: "no" } },
  children: [
    {
      id: "mai",
      drills: {
        roll: {
          today: [
            { id: "1", clean: true },
            { id: "2", clean: true },
          ],
        },
        hold: { today: [] },
      },
    },
    { id: "ilse", drills: {} },
  ],
};

test("what came with the class and what was logged since counts once each", () => {
  const counts = turnCounts(pack, [turn("2"), turn("3", { drill: "hold" }), turn("4", { child: "gone" })]);
  assert.deepEqual([counts("mai").all, counts("mai").of("roll"), counts("mai").of("hold")], [3, 2, 1]);
  assert.deepEqual([counts("ilse").all, counts("ilse").of("roll"), counts("gone").all], [0, 0, 0]);
});

test("a struck turn is none, and one that was stopped before it began", () => {
  const lines = [
    turn("3", { clean: false, faults: ["stopped-before"] }),
    turn("4", { clean: false, faults: ["tucked"] }),
    turn("5"),
    { kind: "strike", id: "6", turn: "1" },
    { kind: "strike", id: "7", turn: "5" },
  ];
  assert.equal(turnCounts(pack, lines)("mai").all, 2);
});

const fell = (id, about = {}) => ({ kind: "fell", id, child: "mai", by: "omar", at: "2026-03-04T17:00:00Z", ...about });
const quiet = {
  me: { id: "omar" },
  pain: [
    { place: "head", pause: true },
    { place: "wrist", pause: false },
  ],
  drills: [],
  children: [{ id: "mai", pains: [], fell: [], drills: {} }],
};
const told = (lines) => toTell(quiet, lines).map(({ what }) => what);

test("a fall is told at the door, once, and not beside what hurts", () => {
  assert.deepEqual(told([]), []);
  assert.deepEqual(told([fell("1"), fell("2")]), [FALL]);
  assert.deepEqual(told([fell("1"), { kind: "told", id: "3", child: "mai", what: FALL }]), []);
  assert.deepEqual(told([fell("1"), { kind: "hurt", id: "3", child: "mai", place: "wrist" }]), ["wrist"]);
});

test("a fall that was taken back is none, and only one's own is", () => {
  const strike = { kind: "strike", id: "3", turn: "1" };
  assert.deepEqual(told([fell("1"), strike]), []);
  assert.equal(hasHappened(quiet, [fell("1")]), true);
  assert.equal(hasHappened(quiet, [fell("1"), strike]), false);
  const mine = (lines) => ownReports(quiet, lines).map(({ id, kind }) => [id, kind]);
  assert.deepEqual(mine([fell("1"), fell("2", { by: "petra" })]), [["1", "fell"]]);
  assert.deepEqual(mine([fell("1"), strike]), []);
});

test("a head is something that happened, a wrist is not", () => {
  const hurt = (place) => [{ kind: "hurt", id: "1", child: "mai", place }];
  assert.deepEqual([hasHappened(quiet, hurt("head")), hasHappened(quiet, hurt("wrist"))], [true, false]);
});
