/* One run of the hold clock, with clocks that are handed in. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { HoldRun } from "../../static/floor/entry/hold_run.js";

const WALL = 1_900_000_000_000;

function makeRun(ids = ["a", "b", "c"], most = 600_000) {
  return new HoldRun({
    meeting: "m",
    author: "me",
    drill: "hollow-hold",
    surface: "mat",
    most,
    line: ids,
    chosen: ids,
  });
}

/* Started at monotonic 1000; both clocks run alike unless "set" says by how much the wall clock
   was set in between. */
function started(ids, most) {
  const run = makeRun(ids, most);
  run.start(1000, 1004, WALL + 4);
  return run;
}

function tap(run, id, after, set = 0) {
  run.tap(id, 1000 + after, 1003 + after, WALL + 3 + after + set);
}

test("a time is the difference of two stamps, in tenths, rounded down", () => {
  const run = started();
  tap(run, "a", 23_499.9);
  assert.equal(run.timeOf("a"), 23_499.9);
  const tenths = [
    [0, 0],
    [99.9, 0],
    [100, 0.1],
    [23_499.9, 23.4],
    [23_500, 23.5],
    [119_999, 119.9],
  ];
  for (const [time, wanted] of tenths) assert.equal(HoldRun.tenthsOf(time), wanted);
  // What subtracting two stamps leaves behind does not cost a tenth.
  assert.equal(HoldRun.tenthsOf(23_499.999999999996), 23.5);
});

test("a second tap takes the stop back and the child runs on", () => {
  const run = started();
  tap(run, "a", 5_000);
  tap(run, "a", 5_400);
  assert.equal(run.timeOf("a"), null);
  tap(run, "a", 9_000);
  assert.equal(run.timeOf("a"), 9_000);
});

test("it runs until the last child has stopped, and is ready before it has started", () => {
  const run = makeRun(["a", "b"]);
  assert.equal(run.phase, "ready");
  run.start(1000, 1000, WALL);
  tap(run, "a", 1_000);
  assert.equal(run.phase, "running");
  tap(run, "b", 2_000);
  assert.equal(run.phase, "review");
  run.takeBack("a");
  assert.equal(run.phase, "running");
});

test("stop all stops those who still hold, and nobody else", () => {
  const run = started();
  tap(run, "b", 2_000);
  run.stopAll(1000 + 7_000, 1000 + 7_001, WALL + 7_001);
  assert.deepEqual(run.toLog(), [
    ["a", 7_000],
    ["b", 2_000],
    ["c", 7_000],
  ]);
});

test("no time is over the most, nor under nothing", () => {
  const run = started(["a", "b"], 10_000);
  tap(run, "a", 10_001);
  tap(run, "b", 3_000);
  assert.equal(run.timeOf("a"), 10_000);
  run.add("a", 500);
  assert.equal(run.timeOf("a"), 10_000);
  for (let step = 0; step < 8; step += 1) run.add("b", -500);
  assert.equal(run.timeOf("b"), 0);
});

test("clocks that differ by a tenth are alike; by more, the time is in doubt", () => {
  const run = started();
  tap(run, "a", 20_000, 100);
  tap(run, "b", 20_000, 101);
  tap(run, "c", 20_000, -101);
  assert.equal(run.doubtOf("a"), null);
  assert.deepEqual(run.doubtful(), ["b", "c"]);
  assert.equal(run.doubtOf("b"), "clock");
  // The value itself is the monotonic one all the same.
  assert.equal(run.timeOf("b"), 20_000);
});

test("who stopped before the clock was set is not in doubt", () => {
  const run = started();
  tap(run, "a", 5_000);
  tap(run, "b", 6_000, 3_600_000);
  assert.deepEqual(run.doubtful(), ["b"]);
});

test("a doubtful time is logged when it is kept and not when it is left out", () => {
  const run = started(["a", "b"]);
  tap(run, "a", 5_000, 3_600_000);
  tap(run, "b", 6_000, 3_600_000);
  run.settleDoubt("a", true);
  run.settleDoubt("b", false);
  assert.deepEqual(run.doubtful(), []);
  assert.deepEqual(run.toLog(), [["a", 5_000]]);
});

test("after a reload the run goes on by the wall clock, in doubt; stops of before are sure", () => {
  const run = started();
  tap(run, "a", 5_000);
  const stored = JSON.parse(JSON.stringify(run.toStored()));
  // A new page counts from nothing: 12 s after the start its own clock says 700.
  const again = HoldRun.restore(stored, 700, WALL + 12_000);
  assert.equal(again.elapsed(700), 12_000);
  again.tap("b", 1_700, 1_702, WALL + 13_002);
  assert.equal(again.timeOf("b"), 13_000);
  assert.equal(again.timeOf("a"), 5_000);
  assert.deepEqual(again.doubtful(), ["b"]);
  assert.equal(again.doubtOf("b"), "reload");
});

test("what was settled stays settled across a reload", () => {
  const run = started(["a"]);
  tap(run, "a", 5_000, 3_600_000);
  run.settleDoubt("a", true);
  const again = HoldRun.restore(JSON.parse(JSON.stringify(run.toStored())), 0, WALL + 60_000);
  assert.equal(again.phase, "review");
  assert.deepEqual(again.toLog(), [["a", 5_000]]);
  assert.deepEqual(again.doubtful(), []);
});

test("a wall clock set back before the start does not make a negative time", () => {
  const again = HoldRun.restore(started(["a"]).toStored(), 0, WALL - 60_000);
  assert.equal(again.elapsed(0), 0);
});

test("who is left out at the start is neither timed nor logged", () => {
  const run = started();
  run.chosen.delete("b");
  run.stopAll(2_000, 2_001, WALL + 1_001);
  assert.deepEqual(
    run.toLog().map(([id]) => id),
    ["a", "c"],
  );
});
