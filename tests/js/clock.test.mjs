/* What a line says of the tablet's clock. */

import assert from "node:assert/strict";
import { test } from "node:test";

const SERVER = Date.parse("2026-03-04T18:00:00Z");
const HOUR = 3_600_000;

let wall = 0;
let mono = 0;
Date.now = () => wall;
globalThis.performance.now = () => mono;

const { adjustClock, clockFields, clockOffset, page } = await import("../../static/floor/sending/clock.js");

function pass(ms) {
  wall += ms;
  mono += ms;
}

test("before the first contact there is no offset", () => {
  wall = SERVER + 3 * HOUR;
  mono = 1234.6;
  assert.deepEqual(clockFields(), { page, mono: 1235 });
  assert.equal(clockOffset(), null);
  assert.match(page, /^[0-9a-f]{12}$/);
});

test("the offset is measured at the middle of the round trip", () => {
  const asked = mono;
  pass(400);
  // The server's clock said 18:00 when it answered, 200 ms ago: the tablet is three hours fast.
  adjustClock("2026-03-04T18:00:00.200Z", asked);
  assert.equal(clockOffset(), -3 * HOUR);
  pass(30 * 60_000);
  assert.deepEqual(clockFields(), { page, mono: Math.round(mono), offset: -3 * HOUR });
});

test("a clock that was set has no offset until the next contact", () => {
  wall -= 3 * HOUR;
  assert.equal("offset" in clockFields(), false);
  pass(1_000);
  assert.equal(clockOffset(), null);
  adjustClock(new Date(wall).toISOString(), mono);
  assert.equal(clockFields().offset, 0);
});

test("a clock that is put right by less than two seconds keeps it", () => {
  wall += 1_900;
  assert.equal(clockFields().offset, 0);
});

test("what is no time is ignored", () => {
  adjustClock(new Date(wall).toISOString(), mono);
  adjustClock("soon", mono);
  adjustClock(undefined, mono);
  assert.equal(clockOffset(), 0);
});

test("two answers that agree as far as their way allows leave the offset as it is", () => {
  pass(60_000);
  let asked = mono;
  pass(300);
  adjustClock(new Date(wall + 5_000 - 150).toISOString(), asked);
  const before = clockOffset();
  assert.equal(before, 5_000);
  // As slow, but the answer came later within its time: a tap now would seem to be before the last.
  asked = mono;
  pass(300);
  adjustClock(new Date(wall + 5_000 - 270).toISOString(), asked);
  assert.equal(clockOffset(), before);
  // Sure to be another time.
  asked = mono;
  pass(300);
  adjustClock(new Date(wall + 7_000 - 150).toISOString(), asked);
  assert.equal(clockOffset(), 7_000);
});
