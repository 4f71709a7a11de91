/* On the way back after a head knock: the drills that are too soon, as the engine says. */

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import { supportNow } from "../../static/floor/rules/reading.js";

const { after_head, steps } = JSON.parse(readFileSync(new URL("../vectors/head.json", import.meta.url), "utf8"));
const rules = { behind: {}, stops: {}, loads: {}, bars: {}, carries: {}, skills: [] };
const pack = { me: { id: "me" }, pain: [], surfaces: [{ key: "mat" }], rules: { ...rules, after_head } };
const keys = Object.keys(after_head);
const entry = { open: true, today: [], start: { allowed: { mat: 1 }, causes: {}, watch: [], stages: [], asks: 2 } };
const drills = Object.fromEntries(keys.map((key) => [key, entry]));

function tooSoon(about, step) {
  const child = { id: "c", pains: [], drills, head_step: step };
  return keys.filter((key) => supportNow(about, child, { key }, "mat", []).causes.includes("after-head"));
}

test("at every step the same drills are too soon as on the server", () => {
  assert.deepEqual(
    steps.map(({ step }) => [step, tooSoon(pack, step)]),
    steps.map(({ step, too_soon }) => [step, too_soon]),
  );
});

test("by a pack that does not say it of a drill, it waits for the last step", () => {
  assert.deepEqual(tooSoon({ ...pack, rules }, 5), keys);
  assert.deepEqual(tooSoon({ ...pack, rules }, null), []);
});

test("nothing is allowed at what is too soon", () => {
  const child = { id: "c", pains: [], drills, head_step: 0 };
  const answer = { support: null, causes: ["after-head"], falls: [] };
  for (const key of keys) assert.deepEqual(supportNow(pack, child, { key }, "mat", []), answer);
});
