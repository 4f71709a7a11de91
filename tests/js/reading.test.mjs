/* What the floor page works out of a pack. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { supportNow } from "../../static/floor/rules/reading.js";

const pack = {
  me: { id: "me", grades: true },
  pain: [],
  surfaces: [{ key: "mat" }],
  rules: { behind: {}, stops: {}, loads: {}, bars: {}, carries: {}, skills: [] },
};
const start = { allowed: { mat: 1 }, causes: { mat: ["first-turn"] }, watch: [], stages: [], asks: 2 };
const child = { id: "c", pains: [], drills: { swing: { today: [], start } } };

test("what an older day allowed is not allowed today", () => {
  const support = (over) => supportNow({ ...pack, over }, child, { key: "swing" }, "mat", []);
  assert.deepEqual(support(false), { support: 1, causes: ["first-turn"], falls: [] });
  assert.deepEqual(support(true), { support: 3, causes: ["older-day"], falls: [] });
});
