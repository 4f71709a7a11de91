/* node --test tests/js/ */

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import * as cleanRate from "../../static/floor/rules/clean_rate.js";
import * as gateNow from "../../static/floor/rules/gate_now.js";
import * as supportNow from "../../static/floor/rules/support_now.js";
import { checkBeta, checkClasses, checkGates, checkSureness } from "./checks.mjs";

function vectors(name) {
  return JSON.parse(readFileSync(new URL(`../vectors/${name}.json`, import.meta.url), "utf8"));
}

test("the incomplete beta function is right to 1e-12 where its value is known exactly", () => {
  assert.deepEqual(checkBeta(cleanRate), []);
});

test("sureness and lately are those of the vectors", () => {
  assert.deepEqual(checkSureness(cleanRate, vectors("sureness")), []);
});

test("clean gates read as in the vectors", () => {
  assert.deepEqual(checkGates(gateNow, cleanRate, vectors("gates")), []);
});

test("every gate and all support move with each turn as in the vectors", () => {
  assert.deepEqual(checkClasses(gateNow, supportNow, vectors("classes")), []);
});

test("a vector that is wrong is found", () => {
  const [, , , ...cases] = vectors("sureness");
  const spoilt = cases.map((one) => ({ ...one, sureness: one.sureness + 3e-6 }));
  assert.equal(checkSureness(cleanRate, spoilt).length, spoilt.length);
});
