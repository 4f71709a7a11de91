/* The floor follows the stations that were taken: which rotation is on, who is where in it, and which
   station is this tablet's line. A rotation that was begun is a line like any other: it is on the
   disk, and on every tablet of the class once there is a network. */

import { drillName } from "../drawing/code_names.js";
import { button, byId, fillWith, make, setHidden } from "../drawing/dom.js";
import { releaseTiles } from "../drawing/tiles.js";
import { joinList, say, sayCount } from "../drawing/words.js";
import { drillsFor } from "../rules/reading.js";
import {
  begunLast,
  isAtStation,
  lineOf,
  minutesLeft,
  planToFollow,
  rotationNow,
  withoutStation,
} from "../rules/rotation.js";
import { page } from "../sending/clock.js";
import { uuid7 } from "../sending/uuid7.js";
import { changed, state } from "../state.js";
import { beginRotation, lines } from "./actions.js";
import { saveChoices } from "./chosen.js";
import { choice, choices, openSheet } from "./sheets.js";
import { oncePerGesture, restingFor } from "./taps.js";

// What another tablet began comes to the tiles once the hand has rested for so long; the clock is drawn
// again so often. In ms.
const REST = 2_000;
const CLOCK_EVERY = 5_000;

let restTimer = null;
let drawn = "";

export function prepareRotation() {
  setInterval(drawRotation, CLOCK_EVERY);
}

/* Each rotation sets each child's drill; not under a finger, nor while something is being entered. */
export function followPlan(now) {
  const found = rotationNow(state.pack, now, clockAhead());
  if (isSame(found, state.rotation)) return;
  if (state.view !== "floor" || byId("sheet").open || state.draft !== null) return;
  if (found?.page !== page && restingFor() < REST) {
    clearTimeout(restTimer);
    restTimer = setTimeout(changed, REST);
    return;
  }
  takeUp(found);
}

function isSame(one, other) {
  return one?.id === other?.id && JSON.stringify(one?.stations) === JSON.stringify(other?.stations);
}

function takeUp(found) {
  state.rotation = found && { id: found.id, number: found.number, stations: found.stations };
  state.offPlan = false;
  state.apart.clear();
  state.lineSince = uuid7();
  standAtLine();
}

/* This tablet's children and drill: those of its station. */
function standAtLine() {
  const stations = state.rotation?.stations ?? [];
  const line = lineOf(stations, state.lead, state.pack.me.id);
  state.station = line && new Set(line.children);
  const mayLog = drillsFor(state.pack).map(({ key }) => key);
  const open = stations.map(({ drill }) => drill).filter((key) => mayLog.includes(key));
  const wanted = line ? line.drill : open.includes(state.drill) ? state.drill : open[0];
  if (mayLog.includes(wanted)) {
    state.drill = wanted;
    if (!state.strip.includes(wanted)) state.strip.unshift(wanted);
  }
  releaseTiles();
  saveChoices();
}

function choose(lead) {
  state.lead = lead;
  state.offPlan = false;
  standAtLine();
  changed();
}

/* The button that says which rotation is on, and the one that begins the next. */
export function drawRotation() {
  const plan = state.pack && planToFollow(state.pack);
  setHidden(byId("rotation"), !plan);
  if (!plan) return;
  const { number, begun } = begunLast(state.pack, lines(), clockAhead());
  const last = plan.rotations.length;
  const left = begun && number <= last ? minutesLeft(begun, plan.minutes, Date.now(), clockAhead()) : null;
  const next = nextStep(number, last);
  const words = [...clockWords(number, last, plan.minutes, left), next?.words];
  const look = JSON.stringify([words, left !== null && left <= 0]);
  if (look === drawn) return;
  drawn = look;
  const who = button("choice", openRotation, make("span", {}, words[0]), make("small", {}, words[1]));
  const isDue = number === 0 || (left !== null && left <= 0);
  const go = next && button(isDue ? "btn act" : "btn", oncePerGesture(next.act), next.words);
  fillWith(byId("rotation"), who, go);
}

function clockAhead() {
  return Date.parse(state.pack.now) - state.packAt;
}

function clockWords(number, last, minutes, left) {
  if (number === 0) return [say("stations"), sayCount("rotations-of", last, { minutes })];
  if (number > last) return [say("stations-over"), ""];
  const title = say("rotation-of", { n: number, last });
  if (left > 0) return [title, sayCount("minutes-left", left)];
  return [title, left === 0 ? say("time-is-up") : sayCount("minutes-over", -left)];
}

/* {words, act}, or null. */
function nextStep(number, last) {
  if (state.offPlan) return { words: say("back-to-stations"), act: () => choose(state.lead) };
  if (!state.pack.me.grades || number > last) return null;
  const words = number === last ? say("end-stations") : say("begin-rotation", { n: number + 1 });
  return { words, act: () => beginRotation(number + 1) };
}

/* Who is where now and next. */
function openRotation() {
  const { rotations } = planToFollow(state.pack);
  const now = lines();
  const { number } = begunLast(state.pack, now, clockAhead());
  const stations = rotations[number - 1] ?? [];
  const next = rotations[number] ?? [];
  const none = stations.length ? withoutStation(state.pack, stations, state.surface, now) : [];
  openSheet(
    say("stations"),
    stations.length ? [make("h3", {}, say("rotation-now", { n: number })), lineChoices()] : null,
    none.length ? make("p", { class: "big" }, say("no-station-yet", { names: namesOf(none) })) : null,
    next.length ? [make("h3", {}, say("rotation-next", { n: number + 1 })), stationList(next)] : null,
    number > 1 && state.pack.me.grades ? choices("", backChoice(number - 1)) : null,
  );
}

function backChoice(number) {
  return choice(
    "",
    oncePerGesture(() => beginRotation(number)),
    say("rotation-again", { n: number }),
  );
}

function stationList(stations) {
  const rows = stations.map((station) =>
    make("li", {}, make("strong", {}, drillName(station.drill)), " ", whoIsAt(station)),
  );
  return make("ul", { class: "stations" }, rows);
}

/* Which station is this tablet's line; null while no rotation is on. */
export function lineChoices() {
  if (state.rotation === null) return null;
  const { stations } = state.rotation;
  const line = lineOf(stations, state.lead, state.pack.me.id);
  const own = lineOf(stations, null, state.pack.me.id);
  const buttons = stations.map((station) => {
    const lead = station === own ? null : station.key;
    const words = [make("span", {}, drillName(station.drill)), make("small", {}, whoIsAt(station))];
    return lineChoice(station === line, lead, "two", words);
  });
  return choices("lines", buttons, lineChoice(line === null, "", "two", [say("whole-room")]));
}

function lineChoice(pressed, lead, className, words) {
  const element = choice(className, () => choose(lead), ...words);
  element.setAttribute("aria-pressed", pressed && !state.offPlan);
  return element;
}

/* Names of those who are there now, then of the adults. */
function whoIsAt(station) {
  const now = lines();
  const { pack, surface } = state;
  const at = pack.children.filter(({ id }) => station.children.includes(id));
  const children = namesOf(at.filter((child) => isAtStation(pack, child, station, surface, now)));
  const adults = joinList(station.adults.map(({ name }) => name));
  return adults ? say("with-adults", { children, adults }) : children;
}

function namesOf(children) {
  return joinList(children.map(({ name }) => name));
}
