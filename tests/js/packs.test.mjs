/* The classes that a tablet keeps: one of an earlier release gets the rules that it lacks. */

import assert from "node:assert/strict";
import { test } from "node:test";

globalThis.document ??= { cookie: "" };
document.cookie = "whose=me";

const { savedPack } = await import("../../static/floor/store/packs.js");

const boxWith = (rules, author = "me") => ({
  pack: async () => ({ author, at: 0, pack: { v: 2, rules } }),
});

test("a pack of release 0.1 is read with what was fixed then", async () => {
  const { pack } = await savedPack(boxWith({ stops: {} }), "m", 2);
  assert.deepEqual(pack.rules, { stops: {}, fall_share: 0.5, unmet_most: 0.99 });
});

test("what a pack says itself stands", async () => {
  const { pack } = await savedPack(boxWith({ fall_share: 0.4, unmet_most: 0.9 }), "m", 2);
  assert.deepEqual(pack.rules, { fall_share: 0.4, unmet_most: 0.9 });
});

test("a pack of another form, or of somebody else, is none", async () => {
  assert.equal(await savedPack(boxWith({}), "m", 3), null);
  assert.equal(await savedPack(boxWith({}, "you"), "m", 2), null);
});
