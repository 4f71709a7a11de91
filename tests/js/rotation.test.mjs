/* The floor follows the stations that were taken: which rotation is on, how long still, who is at none.
   Common practice, no source. */

import assert from "node:assert/strict";
import { test } from "node:test";

import {
  begunLast,
  isAtStation,
  lineOf,
  minutesLeft,
  planToFollow,
  rotationNow,
  stationOf,
  withoutStation,
} from "../../static/floor/rules/rotation.js";

const roll = { key: "roll", drill: "roll", spotters: 0, children: ["mai", "ilse"], adults: [] };
const held = { key: "over+1", drill: "over", spotters: 1, children: ["noor"], adults: [{ id: "omar", name: "Omar" }] };
const second = { ...roll, children: ["noor", "mai", "ilse"], adults: [{ id: "omar", name: "Omar" }] };

function makePack(stations = {}, about = {}) {
  return {
    me: { id: "omar", grades: true },
    pain: [{ place: "neck", pause: true }],
    surfaces: [{ key: "mat" }, { key: "floor" }],
    hall: [],
    drills: [{ key: "roll" }, { key: "over", support_logged: true }],
    rules: { stops: {}, spotted: ["over"], loads: { roll: ["hands"] }, bars: { wrist: ["hands"] }, carries: {} },
    stations: stations && { minutes: 8, rotations: [[roll, held], [second]], begun: null, ...stations },
    children: ["mai", "ilse", "noor", "rosa"].map(makeChild),
    ...about,
  };
}

const open = { open: true, allowed: { mat: 0, floor: null }, causes: {}, today: [] };
const withHands = { open: true, allowed: { mat: 3, floor: 3 }, causes: {}, today: [] };

function makeChild(id) {
  return { id, name: id, present: true, pains: [], asked: [], drills: { roll: open, over: withHands } };
}

let count = 0;
function began(number, about = {}) {
  count += 1;
  const at = new Date(Date.UTC(2026, 2, 4, 17, count)).toISOString();
  return { kind: "rotation", id: `r${count}`, number, at, page: "here", mono: count * 60_000, offset: 0, ...about };
}

test("without a plan, before the first rotation, after the last and of an older class nothing is followed", () => {
  assert.equal(rotationNow(makePack(null), [began(1)], 0), null);
  assert.equal(rotationNow(makePack(), [], 0), null);
  assert.equal(rotationNow(makePack(), [began(3)], 0), null);
  assert.equal(rotationNow(makePack({}, { over: true }), [began(1)], 0), null);
  assert.equal(planToFollow(makePack({}, { over: true })), null);
});

test("the latest tap says which rotation is on, of this tablet or of the class", () => {
  const pack = makePack({ begun: { id: "s", number: 1, at: "2026-03-04T17:00:00Z" } });
  assert.deepEqual([rotationNow(pack, [], 0).number, rotationNow(pack, [], 0).stations], [1, [roll, held]]);
  assert.equal(rotationNow(pack, [began(2)], 0).number, 2);
  const later = makePack({ begun: { id: "s", number: 2, at: "2026-03-04T19:00:00Z" } });
  assert.equal(rotationNow(later, [began(1)], 0).number, 2);
  assert.deepEqual(begunLast(makePack(), [], 0), { number: 0, begun: null });
});

test("the clock set back meanwhile changes nothing on one page", () => {
  const [first, next] = [began(1), began(2)];
  assert.equal(rotationNow(makePack(), [first, { ...next, at: "2026-03-04T12:00:00Z" }], 0).number, 2);
});

test("a tap on a tablet that is an hour behind and does not know it is no earlier than what the class has", () => {
  const pack = makePack({ begun: { id: "s", number: 1, at: "2026-03-04T17:00:00Z" } });
  const { offset, ...tap } = began(2, { at: "2026-03-04T16:08:00Z" });
  assert.equal(rotationNow(pack, [tap], 3_600_000).number, 2);
  assert.equal(rotationNow(pack, [{ ...tap, offset: 0 }], 3_600_000).number, 1);
});

test("minutes are rounded up, and counted on below nothing", () => {
  const at = Date.UTC(2026, 2, 4, 17);
  const begun = { id: "s", number: 1, at: new Date(at).toISOString() };
  const left = (ms, ahead = 0, tap = begun) => minutesLeft(tap, 8, at + ms - ahead, ahead);
  assert.deepEqual([left(0), left(1), left(7 * 60_000), left(7 * 60_000 + 1)], [8, 8, 1, 1]);
  assert.deepEqual([left(8 * 60_000), left(9 * 60_000)], [0, -1]);
  // This tablet's clock is an hour behind: the class's time counts, and of a tap that did not know it its own.
  assert.equal(left(60_000, 3_600_000), 7);
  assert.equal(left(60_000, 3_600_000, { ...begun, page: "here", offset: 0 }), 7);
  const unknown = { ...begun, page: "here", at: new Date(at - 3_600_000).toISOString() };
  assert.equal(left(60_000, 3_600_000, unknown), 7);
});

test("a line is one's post, the station that was chosen while it is there, or the whole room", () => {
  assert.equal(lineOf([roll, held], null, "omar"), held);
  assert.equal(lineOf([roll, held], null, "ines"), null);
  assert.equal(lineOf([roll, held], "roll", "omar"), roll);
  assert.equal(lineOf([second], "over+1", "omar"), null);
  assert.equal(lineOf([roll, held], "", "omar"), null);
});

test("a child is at her station, or at none: away, hurt, paused, not planned, or where a drill is closed now", () => {
  const pack = makePack();
  const none = (lines, surface = "mat") => withoutStation(pack, [roll, held], surface, lines).map(({ id }) => id);
  const said = (kind, child, about) => ({ kind, id: `${kind} ${child}`, child, at: "2026-03-04T17:30:00Z", ...about });
  assert.deepEqual(none([]), ["rosa"]);
  assert.equal(stationOf([roll, held], "rosa"), null);
  assert.deepEqual(none([said("hurt", "mai", { place: "wrist" })]), ["mai", "rosa"]);
  assert.deepEqual(none([said("hurt", "noor", { place: "wrist" })]), ["rosa"]);
  assert.deepEqual(none([said("hurt", "noor", { place: "neck" })]), ["noor", "rosa"]);
  assert.deepEqual(none([{ kind: "hall", id: "g", what: "spotter-gone", at: "2026-03-04T17:30:00Z" }]), [
    "noor",
    "rosa",
  ]);
  assert.deepEqual(none([], "floor"), ["mai", "ilse", "rosa"]);
  // No surface is chosen yet.
  assert.deepEqual(none([], null), ["rosa"]);
  // Who is away is not here to be at no station.
  const away = [said("here", "mai", { present: false })];
  assert.deepEqual(none(away), ["rosa"]);
  assert.equal(isAtStation(pack, pack.children[0], roll, "mat", away), false);
});
