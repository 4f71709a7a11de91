/* The second equal fault of an evening offers the drill that mends it. "Second": common practice, no
   source; which drills mend a fault says the ladder. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { drillKeyFor, nextDrill } from "../../static/floor/rules/next_drill.js";

const MENDS = ["wedge", "wall", "swing"];
const swing = {
  key: "swing",
  measure: "clean",
  support_logged: false,
  faults: [
    { key: "sits-low", mends: ["swing", ...MENDS] },
    { key: "looks-down", mends: ["wall"] },
    { key: "no-mend", mends: [] },
    { key: "shuffles", mends: MENDS },
    { key: "turns-back", mends: MENDS },
    { key: "falls", mends: MENDS },
  ],
};
const drills = [
  swing,
  { key: "wedge", measure: "clean", support_logged: false, faults: [] },
  { key: "wall", measure: "grade", support_logged: false, faults: [] },
];

function makePack(about = {}, rules = {}) {
  const stops = { "turns-back": "before", falls: "yes", shuffles: "second" };
  return {
    me: { id: "omar", grades: true },
    pain: [{ place: "neck", pause: true }],
    surfaces: [{ key: "mat" }, { key: "floor" }],
    spotters: { none: null },
    hall: [],
    drills,
    rules: {
      stops,
      finishes: true,
      spotted: [],
      loads: {},
      bars: {},
      behind: {},
      carries: {},
      after_head: {},
      ...rules,
    },
    ...about,
  };
}

const open = { open: true, allowed: { mat: 0, floor: null }, causes: {}, today: [] };
const closed = { open: false, allowed: { mat: null }, causes: { mat: ["closed"] }, today: [] };

function makeChild(own = {}, about = {}) {
  return { id: "mai", pains: [], asked: [], drills: { swing: open, wedge: open, wall: open, ...own }, ...about };
}

let count = 0;
/* Ids sort in the order in which the turns were done. */
function turn(faults, about = {}) {
  count += 1;
  const id = `t${String(count).padStart(4, "0")}`;
  const at = new Date(Date.UTC(2026, 2, 4, 17, 0, count)).toISOString();
  return {
    kind: "turn",
    id,
    at,
    child: "mai",
    drill: "swing",
    surface: "mat",
    support: 0,
    clean: false,
    faults,
    ...about,
  };
}

const low = (about) => turn(["sits-low"], about);

function offered(lines, { pack = makePack(), child = makeChild(), surface = "mat", since = "" } = {}) {
  const next = nextDrill(pack, child, swing, surface, lines, since);
  return next && [next.fault.key, next.drill.key];
}

const WEDGE = ["sits-low", "wedge"];

test("the second equal fault offers the first drill that mends it, one alone and two others do not", () => {
  assert.equal(offered([low()]), null);
  assert.equal(offered([low(), turn(["looks-down"])]), null);
  assert.deepEqual(offered([low(), turn([], { clean: true }), low()]), WEDGE);
  assert.deepEqual(offered([low(), turn(["looks-down", "sits-low"])]), WEDGE);
  assert.equal(offered([turn(["no-mend"]), turn(["no-mend"])]), null);
});

test("the third keeps it, and a clean turn after it", () => {
  assert.deepEqual(offered([low(), low(), low()]), WEDGE);
  assert.deepEqual(offered([low(), low(), turn([], { clean: true })]), WEDGE);
});

test("of two faults seen again the later one is mended", () => {
  const lines = [low(), turn(["looks-down"]), low(), turn(["looks-down"])];
  assert.deepEqual(offered(lines), ["looks-down", "wall"]);
  assert.deepEqual(offered([...lines, low()]), WEDGE);
});

test("turns that came with the class count, those of another child or drill do not", () => {
  const { id, at, ...seen } = low();
  const child = makeChild({ swing: { ...open, today: [{ id, at, ...seen }] } });
  assert.deepEqual(offered([low()], { child }), WEDGE);
  assert.equal(offered([low(), low({ child: "ilse" })]), null);
  assert.equal(offered([low(), low({ drill: "wedge" })]), null);
});

test("a struck turn takes it away", () => {
  const turns = [low(), low()];
  for (const { id } of turns) assert.equal(offered([...turns, { kind: "strike", id: "s", turn: id }]), null);
});

test("what was there before the line came, or before it was taken, counts but offers nothing", () => {
  const [first, second, third] = [low(), low(), low()];
  assert.deepEqual(offered([first, second], { since: first.id }), WEDGE);
  assert.equal(offered([first, second], { since: second.id }), null);
  assert.deepEqual(offered([first, second, third], { since: second.id }), WEDGE);
});

test("a drill that is not open to her is passed over; with none there is no offer", () => {
  const lines = [low(), low()];
  const wall = ["sits-low", "wall"];
  assert.deepEqual(offered(lines, { child: makeChild({ wedge: closed }) }), wall);
  assert.equal(offered(lines, { child: makeChild({ wedge: closed, wall: closed }) }), null);
  assert.deepEqual(offered(lines, { child: makeChild({ wedge: closed }), surface: "mat" }), wall);
  assert.equal(offered(lines, { surface: "floor" }), null);
});

test("nothing is offered that hurts, that waits after a head, or to a child who is paused", () => {
  const lines = [low(), low()];
  const hurts = (place) => ({ kind: "hurt", id: "h", child: "mai", place });
  const rules = { loads: { wedge: ["hands"] }, bars: { wrist: ["hands"], back: ["everything"] } };
  const pack = makePack({}, rules);
  assert.deepEqual(offered([...lines, hurts("wrist")], { pack }), ["sits-low", "wall"]);
  assert.equal(offered([...lines, hurts("back")], { pack }), null);
  assert.equal(offered([...lines, hurts("neck")], { pack }), null);
  assert.equal(offered(lines, { child: makeChild({}, { paused: true }) }), null);
  const after = makePack({}, { after_head: { wedge: 4, wall: 2 } });
  assert.deepEqual(offered(lines, { pack: after, child: makeChild({}, { head_step: 2 }) }), ["sits-low", "wall"]);
});

test("nothing is offered that asks for somebody who is not there, or for hands without a yes", () => {
  const lines = [low(), low()];
  const wall = ["sits-low", "wall"];
  const held = { spotted: ["wedge"] };
  assert.deepEqual(offered(lines, { pack: makePack({}, held) }), WEDGE);
  const gone = { kind: "hall", id: "g", what: "spotter-gone", at: "2026-03-04T17:30:00Z" };
  assert.deepEqual(offered([...lines, gone], { pack: makePack({}, held) }), wall);
  assert.deepEqual(offered(lines, { pack: makePack({ spotters: { none: ["wedge"] } }, held) }), wall);
  assert.deepEqual(offered(lines, { pack: makePack({}, held), child: makeChild({}, { no_consent: true }) }), wall);
  const noHands = { kind: "no-hands", id: "n", child: "mai" };
  assert.deepEqual(offered([...lines, noHands], { pack: makePack({}, held) }), wall);
});

test("a drill that is graded is offered to whoever may grade", () => {
  const lines = [turn(["looks-down"]), turn(["looks-down"])];
  assert.deepEqual(offered(lines), ["looks-down", "wall"]);
  assert.equal(offered(lines, { pack: makePack({ me: { id: "tam", grades: false } }) }), null);
});

test("a stop sign that ended the drill, or all that goes backward, stands above it", () => {
  const again = [low(), low()];
  assert.equal(offered([...again, turn(["falls"])]), null);
  assert.equal(offered([turn(["shuffles"]), turn(["shuffles"])]), null);
  assert.deepEqual(offered([turn(["shuffles"]), turn(["shuffles"])], { pack: makePack({}, { finishes: false }) }), [
    "shuffles",
    "wedge",
  ]);
  const ends = makePack({}, { finishes: false, ends: ["falls"], goes: ["swing"] });
  assert.equal(offered([...again, turn(["falls"])], { pack: ends }), null);
});

test("who stopped before the turn showed no fault", () => {
  assert.equal(offered([turn(["turns-back"]), turn(["turns-back"])]), null);
});

test("of a class that is over nothing comes next", () => {
  assert.equal(offered([low(), low()], { pack: makePack({ over: true }) }), null);
});

test("a child is with the line, or at a drill of its own", () => {
  const apart = new Map([
    ["mai", { drill: "wedge", since: "1" }],
    ["noor", { drill: null, since: "2" }],
  ]);
  assert.deepEqual(
    ["mai", "noor", "ilse"].map((id) => drillKeyFor(id, apart, "swing")),
    ["wedge", "swing", "swing"],
  );
});
