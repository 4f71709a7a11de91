/* The hold clock: started once for the whole line, stopped for each child as the shape breaks.

   Times are differences of the stamps that the browser puts on taps (monotonic, the moment the
   finger came down), never counted ticks: a hidden page or a busy tablet changes nothing. Start
   and stops are on the disk at once; after a reload the run goes on by the tablet's wall clock,
   and such a value is asked about before it is logged. So is one during which the wall clock and
   the monotonic clock did not run alike. */

import { button, byId, fillWith, make, setHidden, setText } from "../drawing/dom.js";
import { progressOf, progressWords } from "../drawing/progress.js";
import { formatTenths, joinList, say, sayCount } from "../drawing/words.js";
import * as reading from "../rules/reading.js";
import { changed, meeting, state } from "../state.js";
import { childrenShown, lines, logTurns } from "./actions.js";
import { areAt, drillFor } from "./apart.js";
import { fallWords, showFall } from "./fall.js";
import { openSurfaces } from "./hall.js";
import { HoldRun } from "./hold_run.js";
import { openPainSheet } from "./hurt.js";
import { stayAwake } from "./screen_lock.js";
import { closeSheet, confirmUnusual, openSheet } from "./sheets.js";
import { stampedButton } from "./stamped_button.js";

const MOST_CHILDREN = 30;
// A second tap on the same child within this time (ms) is the same tap.
const MOMENT = 350;
const STEP = 500;

let run = null;
// The child whose time is shown for correction, after the last stop.
let selected = null;
let resumed = false;
let frame = null;
let drawnHead = "";

export function prepareHold() {
  document.addEventListener("visibilitychange", keepScreenOn);
}

/* For everybody present, or one child; a child who may not do it now is left out until tapped. */
export function openHold(only = null) {
  if (state.surface === null) {
    openSurfaces();
    return;
  }
  const drill = only ? drillFor(only) : reading.drillOf(state.pack, state.drill);
  const here = only ? [only] : childrenShown();
  const { ready } = reading.presentByReadiness(state.pack, drill, state.surface, lines());
  const chosen = only ? here : here.filter((child) => ready.includes(child) && areAt([child.id], drill.key));
  run = new HoldRun({
    meeting,
    author: state.pack.me.id,
    drill: drill.key,
    surface: state.surface,
    most: drill.most * 1000,
    line: here.map(({ id }) => id),
    chosen: chosen.slice(0, MOST_CHILDREN).map(({ id }) => id),
  });
  selected = null;
  drawnHead = "";
  state.view = "hold";
  changed();
}

/* A run that was on when the page was left goes on. */
async function resumeRun() {
  resumed = true;
  const stored = await state.store.fact("hold");
  if (stored?.meeting !== meeting || stored.author !== state.pack.me.id || run !== null) return;
  if (reading.drillOf(state.pack, stored.drill) === null) return;
  run = HoldRun.restore(stored, performance.now(), Date.now());
  if (!areAt(run.line, run.drill)) state.drill = run.drill;
  state.surface = run.surface;
  state.view = "hold";
  changed();
}

function saveRun() {
  return state.store.setFact("hold", run?.phase === "ready" ? null : (run?.toStored() ?? null));
}

export function drawHold() {
  // The choices from before a reload have been read: now the view may change.
  if (!resumed && state.strip.length > 0) resumeRun();
  const section = byId("hold");
  setHidden(section, state.view !== "hold" || run === null);
  if (section.hidden) return;
  keepScreenOn();
  if (drawnHead !== headState()) drawHead(section);
  drawChildren();
  if (run.phase === "running" && frame === null) frame = requestAnimationFrame(tick);
}

/* For the eye only: the times that are logged come from the stamps of the taps. */
function tick() {
  frame = null;
  if (state.view !== "hold" || run?.phase !== "running") return;
  const now = performance.now();
  if (run.elapsed(now) >= run.most) {
    stopAll(now);
    return;
  }
  byId("hold-time").textContent = secondsOf(run.elapsed(now));
  frame = requestAnimationFrame(tick);
}

function secondsOf(milliseconds) {
  return formatTenths(HoldRun.tenthsOf(milliseconds));
}

function currentDrill() {
  return reading.drillOf(state.pack, run.drill);
}

function childOf(id) {
  return state.pack.children.find((child) => child.id === id) ?? null;
}

/* What the head shows. It does not change while the clock runs: a finger may be on it. */
function headState() {
  if (run.phase === "running") return run.phase;
  const review = [selected, run.timeOf(selected), run.isOut(selected), run.doubtful(), run.toLog().length];
  return JSON.stringify([run.phase, run.phase === "ready" ? [...run.chosen] : review]);
}

function drawHead(section) {
  drawnHead = headState();
  section.dataset.phase = run.phase;
  if (!byId("hold-grid")) fillWith(section, make("div", { id: "hold-head" }), makeGrid());
  const time = make(
    "p",
    { id: "hold-time", role: "timer", "aria-live": "off" },
    secondsOf(run.phase === "ready" ? 0 : run.elapsed(performance.now())),
  );
  fillWith(
    byId("hold-head"),
    make("h2", { id: "hold-title" }, currentDrill().name),
    run.phase === "review" ? null : time,
    make("p", { class: "hold-note" }, say(`hold-${run.phase}`), leftOutSentence()),
    make("div", { class: "hold-buttons" }, buttonsFor[run.phase]()),
    run.phase === "review" ? [doubtSection(), adjustSection()] : null,
  );
  // The button that the focus was on is gone, or out of sight.
  if (!section.contains(document.activeElement)) {
    byId("hold-head").querySelector("button:enabled")?.focus();
  }
}

function leftOutSentence() {
  if (run.phase !== "ready") return "";
  const { ready, notReady } = reading.presentByReadiness(state.pack, currentDrill(), run.surface, lines());
  const out = [...notReady, ...ready.filter(({ id }) => !areAt([id], run.drill))];
  const names = out.filter(({ id }) => run.line.includes(id) && !run.chosen.has(id)).map(({ name }) => name);
  return names.length ? ` ${sayCount("left-out", names.length, { names: joinList(names) })}` : "";
}

const buttonsFor = {
  ready: () => {
    const start = stampedButton("btn act", startRun, say("hold-start"));
    start.disabled = run.chosen.size === 0;
    return [start, button("btn", leaveHold, say("back")), ...safetyButtons()];
  },
  running: () => [
    stampedButton("btn act", stopAll, say("stop-all")),
    button("btn", confirmDiscard, say("throw-away")),
    ...safetyButtons(),
  ],
  review: () => {
    const count = run.toLog().length;
    const log = button("btn act", logAll, sayCount("log-times", count));
    log.disabled = count === 0 || run.doubtful().length > 0;
    return [log, button("btn", confirmDiscard, say("throw-away")), ...safetyButtons()];
  },
};

/* In reach during every phase. */
function safetyButtons() {
  return [button("btn", () => openPainSheet(), say("something-hurts")), button("btn heed", showFall, fallWords())];
}

function makeGrid() {
  return make("div", { id: "hold-grid", class: "hold-grid" });
}

function startRun(at) {
  run.start(at, performance.now(), Date.now());
  saveRun();
  changed();
}

function stopAll(at) {
  run.stopAll(at, performance.now(), Date.now());
  saveRun();
  changed();
}

const lastTaps = new Map();

function tapChild(id, at) {
  if (at - (lastTaps.get(id) ?? -Infinity) < MOMENT) return;
  lastTaps.set(id, at);
  if (run.phase === "ready") toggleChosen(id);
  else if (run.phase === "review") select(id);
  else {
    selected = null;
    run.tap(id, at, performance.now(), Date.now());
    const time = run.timeOf(id);
    const name = childOf(id)?.name;
    byId("said").textContent =
      time === null ? say("runs-on-for", { name }) : say("time-of", { name, time: secondsOf(time) });
    saveRun();
    changed();
  }
}

function toggleChosen(id) {
  if (run.chosen.has(id)) run.chosen.delete(id);
  else if (run.chosen.size < MOST_CHILDREN) {
    confirmUnusual(childOf(id), currentDrill(), () => {
      run.chosen.add(id);
      changed();
    });
  }
  changed();
}

function select(id) {
  selected = selected === id ? null : id;
  changed();
}

function drawChildren() {
  const grid = byId("hold-grid");
  const shown = run.phase === "ready" ? run.line : run.line.filter((id) => run.chosen.has(id));
  const drawn = shown.join(" ");
  if (grid.dataset.drawn !== drawn) {
    grid.dataset.drawn = drawn;
    grid.dataset.count = shown.length > 20 ? "many" : shown.length > 12 ? "class" : "few";
    fillWith(grid, shown.map(makeChild));
  }
  for (const one of grid.children) drawChild(one, one.dataset.child);
}

function makeChild(id) {
  const one = stampedButton(
    "held",
    (at) => tapChild(id, at),
    make("span", { class: "name" }, childOf(id)?.name ?? "–"),
    make("span", { class: "said" }),
    make("span", { class: "target" }),
  );
  one.dataset.child = id;
  return one;
}

function drawChild(one, id) {
  const { phase } = run;
  const chosen = run.chosen.has(id);
  const time = run.timeOf(id);
  const out = phase === "ready" ? !chosen : run.isOut(id);
  const doubtful = phase !== "ready" && run.doubtOf(id) !== null && !out;
  one.dataset.is = out ? "out" : time === null ? "holds" : doubtful ? "doubtful" : "stopped";
  const pressed = phase === "ready" ? chosen : phase === "running" ? time !== null : selected === id;
  if (one.getAttribute("aria-pressed") !== String(pressed)) one.setAttribute("aria-pressed", pressed);
  setText(one.querySelector(".said"), statusText(phase, out, time, doubtful));
  drawTarget(one.querySelector(".target"), childOf(id));
}

/* The best so far, and what is asked. */
function drawTarget(element, child) {
  const progress = child && progressOf(child, currentDrill(), lines());
  if (!progress) return setText(element, "");
  const days = progress.days ? make("span", { class: "days" }, ` ${progress.days}`) : null;
  fillWith(element, progressWords(progress), days);
}

function statusText(phase, out, time, doubtful) {
  if (out) return say("left-out-word");
  if (phase === "ready") return say("holds-too");
  if (time === null) return say("holding");
  const seconds = say("seconds-of", { time: secondsOf(time) });
  return doubtful ? say("doubtful", { time: seconds }) : seconds;
}

/* Times about which the clocks do not agree: the coach keeps each or leaves it out. */
function doubtSection() {
  const doubtful = run.doubtful();
  if (doubtful.length === 0) return null;
  const cause = run.doubtOf(doubtful[0]) === "reload" ? "doubt-reload" : "doubt-clock";
  return make(
    "div",
    { class: "hold-doubt", role: "group", "aria-label": say("doubt") },
    make("p", {}, say(cause)),
    doubtful.length < 2
      ? null
      : settleButtons(doubtful, sayCount("keep-all", doubtful.length), sayCount("leave-all-out", doubtful.length)),
    make("ul", { class: "rows" }, doubtful.map(doubtRow)),
  );
}

function doubtRow(id) {
  const sentence = say("doubt-of", { name: childOf(id)?.name ?? "–", time: secondsOf(run.timeOf(id)) });
  const buttons = settleButtons([id], say("keep-it"), say("leave-it-out"));
  return make("li", {}, make("span", { class: "what" }, sentence), buttons);
}

function settleButtons(ids, keepText, leaveOutText) {
  const settle = (keep) => () => {
    for (const id of ids) run.settleDoubt(id, keep);
    saveRun();
    changed();
  };
  return make(
    "div",
    { class: "ends" },
    button("btn", settle(true), keepText),
    button("btn", settle(false), leaveOutText),
  );
}

/* One child's time, put right by hand. */
function adjustSection() {
  if (selected === null || run.timeOf(selected) === null) return null;
  const id = selected;
  const name = childOf(id)?.name ?? "–";
  const change = (act) => () => {
    act();
    saveRun();
    changed();
  };
  const time = secondsOf(run.timeOf(id));
  return make(
    "div",
    { class: "hold-adjust", role: "group", "aria-label": name },
    make("p", { "aria-live": "polite" }, say("time-of", { name, time })),
    button(
      "btn",
      change(() => run.add(id, -STEP)),
      say("half-less"),
    ),
    button(
      "btn",
      change(() => run.add(id, STEP)),
      say("half-more"),
    ),
    button(
      "btn",
      change(() => run.takeBack(id)),
      say("runs-on"),
    ),
    button(
      "btn",
      change(() => run.setOut(id, !run.isOut(id))),
      say(run.isOut(id) ? "put-in" : "leave-it-out"),
    ),
  );
}

async function logAll() {
  const drill = currentDrill();
  const times = run.toLog().filter(([id]) => childOf(id));
  const outcomes = times.map(([id, milliseconds]) => [childOf(id), { value: HoldRun.tenthsOf(milliseconds) }]);
  run = null;
  state.view = "floor";
  changed();
  await logTurns(drill, outcomes);
  await saveRun();
}

function leaveHold() {
  run = null;
  state.view = "floor";
  changed();
}

function confirmDiscard() {
  openSheet(
    say("throw-away"),
    make("p", { class: "big" }, say("throw-away-what")),
    make(
      "div",
      { class: "options" },
      button(
        "btn heed",
        () => {
          closeSheet();
          leaveHold();
          saveRun();
        },
        say("throw-away"),
      ),
      button("btn", closeSheet, say("go-on")),
    ),
  );
}

function keepScreenOn() {
  stayAwake(state.view === "hold" && run?.phase === "running" && document.visibilityState === "visible");
}
