/* The page put together: what is shown of it now, its foot, and the strip of drills. */

import { chooseDrill, lines, strikeAll } from "../entry/actions.js";
import { drawAttendance } from "../entry/attendance.js";
import { fallWords, showFall } from "../entry/fall.js";
import { drawFaults } from "../entry/faults.js";
import { drawSpotter, leaveBrokenSurface, openSurfaces } from "../entry/hall.js";
import { drawHold, openHold } from "../entry/hold.js";
import { openPainSheet } from "../entry/hurt.js";
import { showTurns } from "../entry/put_right.js";
import { QUIZ_DRILL, startQuiz } from "../entry/quiz.js";
import { drawRotation, followPlan } from "../entry/rotation.js";
import { measureOf, openChildren, openDrills, outcomeOf, showCard } from "../entry/sheets.js";
import { oncePerGesture } from "../entry/taps.js";
import { drawTonight } from "../entry/tonight.js";
import { openWholeLine } from "../entry/whole_line.js";
import { turnCounts } from "../rules/evening.js";
import * as reading from "../rules/reading.js";
import { changed, meeting, signInAddress, state } from "../state.js";
import { drawChangeOver } from "../tablet/change_over.js";
import { fetchUpdate } from "../tablet/shell.js";
import { drawBar, drawSendingStatus } from "./bar.js";
import { drawBeforeClass } from "./before_class.js";
import { surfaceName } from "./code_names.js";
import { button, byId, fillWith, hideOverflow, make, setHidden, setText } from "./dom.js";
import { drawEndOfClass, prepareEndOfClass } from "./end_of_class.js";
import { drawOver, isClosed, noticeEndOfDay } from "./over.js";
import { drawNotes } from "./page_notes.js";
import { drawTiles, releaseTiles } from "./tiles.js";
import { say, sayCount } from "./words.js";

let lastAnnounced = null;
// The lines and the counts of turns that the tiles were drawn with, for what is drawn after them.
let evening = null;

function show(view) {
  state.view = view;
  changed();
}

export function prepareFoot() {
  byId("surface").addEventListener("click", openSurfaces);
  byId("all-drills").addEventListener("click", openDrills);
  byId("card").addEventListener("click", () => showCard(reading.drillOf(state.pack, state.drill)));
  byId("last-turns").addEventListener("click", () => showTurns());
  byId("hurt").addEventListener("click", () => openPainSheet());
  byId("about").addEventListener("click", openChildren);
  byId("fall").addEventListener("click", showFall);
  prepareEndOfClass();
  byId("who").addEventListener("click", () => show("roll"));
  byId("before-class").addEventListener("click", () => show("before"));
  const undo = () =>
    strikeAll(
      lastTurns(lines()).map(({ turn }) => turn.id),
      "wrong-tap",
    );
  byId("undo").addEventListener("click", oncePerGesture(undo));
  byId("way").addEventListener("click", () => groupAction()?.act());
  addEventListener("resize", () => hideOverflow(byId("strip")));
}

/* All but the foot. */
export function drawAll() {
  noticeEndOfDay();
  // Nothing is ever called sent that is not.
  drawSendingStatus();
  const now = lines();
  drawNotes(now);
  drawTrouble();
  const { pack } = state;
  setHidden(byId("opening"), pack !== null || state.packTrouble !== null || meeting === null);
  if (!pack) return;
  const view = isClosed() ? "over" : state.view;
  const floor = view === "floor";
  setHidden(byId("before"), view !== "before");
  setHidden(byId("end"), view !== "end");
  setHidden(byId("roll"), view !== "roll");
  setHidden(byId("tiles"), !floor);
  setHidden(byId("choices"), !floor);
  setHidden(byId("foot"), !floor);
  if (!floor) releaseTiles();
  leaveBrokenSurface(now);
  followPlan(now);
  evening = { now, counts: turnCounts(pack, now) };
  drawBar(now);
  drawOver();
  drawChangeOver();
  if (floor) {
    drawChoices();
    drawRotation();
    drawTiles(now, evening.counts);
  } else if (view === "roll") {
    drawAttendance();
  } else if (view === "before") {
    drawBeforeClass();
  } else if (view === "end") {
    drawEndOfClass();
  }
  drawHold();
  drawFaults();
}

/* The foot, a frame later. */
export function drawAround() {
  if (evening === null) return;
  const { now, counts } = evening;
  const last = lastTurns(now);
  if (!byId("foot").hidden) drawFoot(now, counts, last);
  announceLastTurn(last);
}

/* Without a class there is nothing to log: say why, and what to do. */
function drawTrouble() {
  const trouble = state.pack === null || state.packTrouble === "newer-page" ? state.packTrouble : null;
  const note = byId("trouble");
  setHidden(note, trouble === null);
  if (trouble === null) return;
  const way =
    trouble === "sign-in"
      ? make("a", { class: "btn act", href: signInAddress() }, say("to-sign-in"))
      : button("btn act", trouble === "newer-page" ? fetchUpdate : reload, say("try-again"));
  fillWith(note, make("p", {}, say(`pack-${trouble}`)), way);
}

function reload() {
  location.reload();
}

function drawChoices() {
  const surface = state.surface ? surfaceName(state.surface) : say("choose");
  if (byId("surface").dataset.drawn !== surface) {
    byId("surface").dataset.drawn = surface;
    fillWith(byId("surface"), make("span", {}, surface), make("small", {}, say("surface")));
  }
  const strip = byId("strip");
  const drawn = [state.drill, ...state.strip].join(" ");
  if (strip.dataset.drawn === drawn) return;
  strip.dataset.drawn = drawn;
  // The ladder may have changed since they were put there.
  const drills = state.strip.map((key) => reading.drillOf(state.pack, key)).filter(Boolean);
  const chips = drills.map((drill) => {
    const { key } = drill;
    const chip = button("choice", () => chooseDrill(key), make("span", {}, drill.name), measureOf(drill));
    chip.setAttribute("aria-pressed", key === state.drill);
    return chip;
  });
  fillWith(strip, chips);
  hideOverflow(strip);
  // The chosen drill must be in sight.
  if (strip.querySelector("[aria-pressed=true]")?.hidden) {
    state.strip = [state.drill, ...state.strip.filter((key) => key !== state.drill)];
    drawChoices();
  }
}

function drawFoot(now, counts, last) {
  drawTonight(now, counts);
  drawSpotter();
  setText(byId("fall"), fallWords());
  byId("undo").disabled = last.length === 0;
  setText(byId("undo"), last.length === 0 ? say("undo-none") : say("undo", { turn: describeTurns(last) }));
  const way = groupAction();
  setHidden(byId("way"), way === undefined);
  if (way) setText(byId("way"), say(way.words));
}

/* What logs many children at once, by the measure of the drill. */
const GROUP_ACTIONS = {
  clean: { words: "all-clean-but", act: () => openWholeLine() },
  seconds: { words: "hold-clock", act: () => openHold() },
};

/* Where somebody spots, each turn is seen by itself: never a whole line at once. */
function groupAction() {
  const drill = reading.drillOf(state.pack, state.drill);
  if (drill?.key === QUIZ_DRILL) return { words: "quiz-line", act: startQuiz };
  const isSpotted = drill?.measure === "clean" && state.pack.rules.spotted?.includes(drill.key);
  return isSpotted ? undefined : GROUP_ACTIONS[drill?.measure];
}

/* The turns that the quick undo takes back: one, or a whole line. */
function lastTurns(now) {
  if (state.last.length === 0) return [];
  return reading.findTurns(state.last, state.pack, now);
}

function describeTurns(turns) {
  if (turns.length > 1) return sayCount("turns-of-line", turns.length);
  const [{ child, turn }] = turns;
  return say("turn-of", { name: child.name, outcome: outcomeOf(turn) });
}

/* One sentence for a screen reader after each turn. */
function announceLastTurn(last) {
  const sentence = last.length === 0 ? "" : `${describeTurns(last)}.`;
  const id = last[0]?.turn.id;
  if (id === lastAnnounced?.id && sentence === (lastAnnounced?.sentence ?? "")) return;
  lastAnnounced = last.length === 0 ? null : { id, sentence };
  byId("said").textContent = sentence;
}
