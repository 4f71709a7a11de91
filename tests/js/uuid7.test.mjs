/* Ids sort in the order of the taps, whatever the tablet's clock does. */

import assert from "node:assert/strict";
import { test } from "node:test";

const { sortAfter, uuid7 } = await import("../../static/floor/sending/uuid7.js");

const AT = Date.parse("2026-03-04T18:00:00Z");
const HOUR = 3_600_000;

test("a clock that is set back, or stands still for thousands of taps, changes no order", () => {
  const made = [uuid7(AT), uuid7(AT - HOUR), uuid7(AT - HOUR + 5), uuid7(AT)];
  for (let n = 0; n < 10_000; n += 1) made.push(uuid7(AT));
  made.push(uuid7(AT + HOUR));
  assert.deepEqual(made, [...made].sort());
  assert.equal(new Set(made).size, made.length);
  assert.ok(made.every((id) => /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/.test(id)));
});

test("ids of the next page sort after those of the page before", () => {
  const before = "019cc3e0-ffff-7fff-8000-000000000000";
  sortAfter(before);
  assert.ok(uuid7(AT - HOUR) > before);
});
