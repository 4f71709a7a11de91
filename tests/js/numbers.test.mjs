/* The number pad reads what the site's forms read: one table for both. */

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import { readNumber, whyNotFor } from "../../static/floor/entry/numbers.js";

const table = JSON.parse(readFileSync(new URL("../vectors/numbers.json", import.meta.url), "utf8"));

test("a number is read alike everywhere, and anything else is none", () => {
  for (const [typed, number] of table) assert.equal(readNumber(typed), number, typed);
});

test("a drill's measure and its most are the limits", () => {
  const hold = { measure: "seconds", most: 120 };
  const reps = { measure: "reps", most: 50 };
  assert.deepEqual(
    [7.5, 120, 120.1, 7.55, null].map((number) => whyNotFor(hold, number)),
    [null, null, "too-much", "only-tenths", "not-a-number"],
  );
  assert.deepEqual(
    [7, 7.5, 51].map((number) => whyNotFor(reps, number)),
    [null, "not-whole", "too-much"],
  );
});
