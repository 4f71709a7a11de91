/* A tile for each child present: the large part logs, the strip at its end says "not clean",
   and below the strip is the support, one tap for more. A child may be at another drill than the line. */

import { childrenShown, chooseSupport, lines, logTurn } from "../entry/actions.js";
import { drillFor, isWithLine } from "../entry/apart.js";
import { openSurfaces } from "../entry/hall.js";
import { openNumberPad } from "../entry/number_pad.js";
import { openRepCounter } from "../entry/rep_counter.js";
import { confirmUnusual, openGrades, showChild } from "../entry/sheets.js";
import { oncePerGesture, onLongPress, restingFor } from "../entry/taps.js";
import * as reading from "../rules/reading.js";
import { isAtStation, stationOf } from "../rules/rotation.js";
import { changed, state } from "../state.js";
import { painName, supportName } from "./code_names.js";
import { button, byId, hiddenText, make, refill } from "./dom.js";
import { drawNext, makeNext, nextFor } from "./next_drill.js";
import { progressOf } from "./progress.js";
import * as drawings from "./symbols.js";
import { formatNumber, joinList, say, sayCode, sayCount } from "./words.js";

const MARKS = 6;
const HANDS_ON = 3;
// Causes that say nothing went wrong here.
const MILD_CAUSES = [
  "older-day",
  "first-turn",
  "until-clean",
  "placed",
  "new-surface",
  "growing",
  "doubt",
  "stopped-before",
  "no-hands",
  "no-spotter",
  "consent-again",
  "head-knock",
];
// So long a hand must rest before tiles come, go or move, in ms.
const REST = 2_000;

const tiles = new Map();
// Whose tiles are in sight, by id.
let shown = [];
let moveTimer = null;

/* "now": the lines; "counts": of the children's turns, as in evening.js. */
export function drawTiles(now, counts) {
  const drill = reading.drillOf(state.pack, state.drill);
  const here = childrenInSight(now);
  const grid = byId("tiles");
  grid.dataset.count = here.length > 20 ? "many" : here.length > 12 ? "class" : "few";
  grid.dataset.support = drill?.support_logged ?? false;
  for (const [id, tile] of tiles) {
    if (!here.some((child) => child.id === id)) {
      tile.element.remove();
      tiles.delete(id);
    }
  }
  here.forEach((child, at) => {
    const tile = tiles.get(child.id) ?? makeTile(child.id);
    tile.child = child;
    if (grid.children[at] !== tile.element) grid.insertBefore(tile.element, grid.children[at]);
    if (drill) drawTile(tile, child, drillFor(child), now, counts);
  });
}

/* Who is here. When another tablet changes that, the tiles move once the hand rests. */
function childrenInSight(now) {
  const here = childrenShown(now);
  const ids = here.map(({ id }) => id);
  const isSame = areSame(ids, shown);
  if (!isSame && shown.length && restingFor() < REST) {
    clearTimeout(moveTimer);
    moveTimer = setTimeout(changed, REST);
    return shown.map((id) => state.pack.children.find((child) => child.id === id) ?? tiles.get(id).child);
  }
  shown = ids;
  return here;
}

/* Out of sight: the next drawing shows who is here by then. */
export function releaseTiles() {
  shown = [];
}

function makeTile(id) {
  const act = (part) => () => tapTile(part, tile);
  const main = button("tile-main", oncePerGesture(act(logMain)));
  onLongPress(main, () => showChild(tile.child));
  const miss = button("tile-miss", oncePerGesture(act(logMiss)));
  const support = button("tile-support", oncePerGesture(act(raiseSupport)));
  const tile = { main, miss, support, child: null, inputs: [], drawn: "", drawnEnd: "" };
  tile.nextButton = makeNext(tile);
  tile.element = make("div", { class: "tile", "data-child": id }, main, miss, support, tile.nextButton);
  tiles.set(id, tile);
  return tile;
}

/* The class may have come without this child between the drawing and the tap: the turn
   is logged all the same, and the server decides about it. */
function tapTile(part, tile) {
  const child = state.pack.children.find((one) => one.id === tile.child.id) ?? tile.child;
  if (state.surface === null) openSurfaces();
  else part(child, drillFor(child));
}

function logMain(child, drill) {
  if (drill.measure === "clean") {
    confirmUnusual(child, drill, () => logTurn(child, drill, { clean: true }, false));
  } else if (drill.measure === "grade") {
    confirmUnusual(child, drill, () => openGrades(child, drill));
  } else if (drill.measure === "reps") {
    confirmUnusual(child, drill, () => openRepCounter(child, drill));
  } else {
    confirmUnusual(child, drill, () => openNumberPad(child, drill));
  }
}

function logMiss(child, drill) {
  confirmUnusual(child, drill, () => logTurn(child, drill, { clean: false }, true));
}

/* One step more support; from hands-on back to what is allowed. If hands-on is all that is allowed,
   open the sheet that says why. */
function raiseSupport(child, drill) {
  const plan = supportPlanOf(child, drill);
  const least = plan.allowed ?? HANDS_ON;
  if (least === HANDS_ON) showChild(child);
  else chooseSupport(child, drill, plan.amount < HANDS_ON ? plan.amount + 1 : least, least);
}

function supportPlanOf(child, drill) {
  return reading.plannedSupport(state.pack, child, drill, state.surface, lines(), state.supportChoices);
}

function drawTile(tile, child, drill, now, counts) {
  const choice = state.supportChoices.get(reading.choiceKey(child, drill, state.surface));
  const way = [state.drill, state.lineSince, state.apart.get(child.id), state.rotation, state.offPlan, state.station];
  const inputs = [state.pack, drill, state.surface, choice, ...way, ...reading.linesAbout(child, now)];
  if (areSame(inputs, tile.inputs)) return;
  tile.inputs = inputs;
  const content = tileContent(child, drill, now, counts(child.id));
  // Nothing visible has changed: leave the tile alone, a finger may be on it.
  const drawn = JSON.stringify(content);
  if (drawn === tile.drawn) return;
  tile.drawn = drawn;
  tile.element.className = content.classes.join(" ");
  refill(
    tile.main,
    make("span", { class: content.long ? "name long" : "name" }, child.name),
    make("span", { class: "at-drill" }, content.at),
    drawWord(content.word),
    drawToday(content, drill),
    make("span", { class: "turns-tonight" }, content.tonight),
    drawProgress(content.progress),
    hiddenText(content.does),
  );
  drawEnd(tile, child, drill, content.plan);
  drawNext(tile, content.next);
}

/* The strip and the support at the end of a tile: most taps change nothing there. */
function drawEnd(tile, child, drill, plan) {
  const drawn = JSON.stringify([child.name, drill.measure, drill.support_logged, plan]);
  if (drawn === tile.drawnEnd) return;
  tile.drawnEnd = drawn;
  tile.miss.hidden = drill.measure !== "clean";
  if (!tile.miss.hidden) {
    refill(tile.miss, drawings.notCleanSign(), make("span", {}, say("not-clean")), hiddenText(child.name));
  }
  tile.support.hidden = !drill.support_logged;
  if (drill.support_logged) drawSupport(tile.support, child, plan);
}

function areSame(some, others) {
  return some.length === others.length && some.every((one, at) => one === others[at]);
}

function tileContent(child, drill, now, { all, of }) {
  const support = reading.supportNow(state.pack, child, drill, state.surface, now);
  const plan = reading.planSupport(support.support, child, drill, state.surface, state.supportChoices);
  const turns = reading.turnsToday(child, drill.key, now);
  const word = wordFor(child, support, now);
  const progress = progressOf(child, drill, now);
  const classes = ["tile", `tile-${drill.measure}`];
  if (drill.support_logged) classes.push("with-support");
  if (drill.support_logged || drill.measure === "clean") classes.push("with-strip");
  const at = placeOf(child, drill, now);
  const next = nextFor(child, drill, now);
  if (next) classes.push("with-next");
  if (word?.heed) classes.push("heed");
  if (progress?.met) classes.push("met");
  if (!word && turns.length === 0) classes.push("untouched");
  const today = turns.map((turn) => turn.clean ?? turn.value);
  const long = child.name.length > 12 || child.name.split(/[\s-]/).some((word) => word.length > 8);
  const does = drill.measure === "clean" ? say("does-clean") : say("does-ask");
  const tonight = all ? sayCount("tile-tonight", all, { here: of(drill.key) }) : say("none-tonight");
  return { name: child.name, at, next, long, word, today, tonight, progress, plan, does, classes };
}

/* Where a child is, if it is not with the line that is in sight: its drill, or at no station. */
function placeOf(child, drill, now) {
  const { rotation, offPlan, surface, pack } = state;
  if (!isWithLine(child)) return drill.name;
  if (!rotation || offPlan) return "";
  const station = stationOf(rotation.stations, child.id);
  if (!station || !isAtStation(pack, child, station, surface, now)) return say("no-station");
  return state.station && drill.key === state.drill ? "" : drill.name;
}

/* The one word that matters most for the next turn, with a detail where there is room; or null. */
function wordFor(child, { causes, falls }, now) {
  if (reading.isPaused(state.pack, child, now)) {
    return { sign: "paused", text: say("paused"), heed: true };
  }
  const pains = reading.painsToday(child, now);
  const ends = pains.some((place) => state.pack.rules.bars[place]?.includes("everything"));
  if (pains.length && !ends) {
    return { text: say("hurts", { places: joinList(pains.map(painName)) }), heed: true };
  }
  const asked = reading.askedAbout(child, now).map(({ place }) => painName(place));
  if (asked.length && !ends) return { text: say("gone-ask", { places: joinList(asked) }), heed: true };
  const over = causes.find((cause) => cause === "finished-tonight" || cause === "nothing-backward");
  if (over || ends) return { text: sayCode("causes", over ?? "finished-tonight"), heed: true };
  // Today's falls go before the causes with which the day began.
  const cause = falls.at(-1)?.code ?? causes[0];
  const mild = cause === undefined || cause === "closed" || MILD_CAUSES.includes(cause);
  // The child's own word, in confidence: no sign, and no more than the word.
  if (child.not_tonight && mild) return { text: say("not-tonight"), heed: false };
  if (cause === undefined) return null;
  if (cause === "closed") return { sign: "closed", text: say("not-open-yet"), heed: false };
  if (cause === "no-consent" || cause === "after-head") return { text: sayCode("causes", cause), heed: true };
  if (MILD_CAUSES.includes(cause)) return { text: sayCode("causes", cause), heed: false };
  return recheck(cause);
}

function recheck(cause) {
  return { sign: "re-check", text: say("re-check"), detail: sayCode("causes", cause), heed: true };
}

/* Word, marks and progress stand empty where there is nothing to say: each keeps its place, so that
   what comes makes none of the others anew. */
function drawWord(word) {
  if (!word) return make("span", { class: "word" });
  const sign = word.sign ? drawings.gate(word.sign) : null;
  const detail = word.detail ? make("span", { class: "detail" }, ` ${word.detail}`) : null;
  const text = make("span", { class: sign ? "whole-word" : null }, word.text);
  return make("span", { class: "word" }, sign, make("span", {}, text, detail));
}

function drawToday(content, drill) {
  const { today } = content;
  if (today.length === 0) return make("span", { class: "today" });
  if (drill.measure !== "clean") {
    const values = today.slice(-4).map(formatNumber).join(" · ");
    return make("span", { class: "today values" }, say("today", { values }));
  }
  const older = today.length - MARKS;
  const clean = today.filter(Boolean).length;
  return make(
    "span",
    { class: "today" },
    older > 0 ? make("span", { class: "older", "aria-hidden": "true" }, `+${older}`) : null,
    today.slice(-MARKS).map((one) => drawings.mark(one)),
    hiddenText(sayCount("today-clean", today.length, { clean })),
  );
}

function drawProgress(progress) {
  if (!progress) return make("span", { class: "progress" });
  return make(
    "span",
    { class: "progress" },
    make(
      "span",
      { class: "progress-words" },
      make("span", { class: "lead" }, progress.lead),
      " ",
      make("strong", {}, progress.number),
      " ",
      make("span", {}, progress.end),
      progress.days ? make("span", { class: "days" }, ` ${progress.days}`) : null,
      progress.turns ? make("span", { class: "turns" }, ` ${progress.turns}`) : null,
    ),
    drawings.beam(progress.value, progress.need),
  );
}

function drawSupport(element, child, plan) {
  const least = plan.allowed ?? HANDS_ON;
  element.classList.toggle("more", plan.amount > least);
  element.classList.toggle("less", plan.amount < least);
  const none = plan.allowed === null && plan.amount === HANDS_ON;
  refill(
    element,
    none ? null : drawings.blocks(plan.amount),
    make("span", {}, none ? say("support-none") : supportName(plan.amount)),
    hiddenText(say(least === HANDS_ON ? "support-why" : "support-more", { name: child.name })),
  );
}
