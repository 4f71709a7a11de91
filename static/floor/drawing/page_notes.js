/* What is to know about the page itself, in a line: no network, a newer page, and the
   like. Calm: whatever it is, logging goes on. */

import { meeting, signInAddress, state } from "../state.js";
import { cannotBeKept, isKept, newerWaits, takeNewer } from "../tablet/shell.js";
import { button, byId, fillWith, make } from "./dom.js";
import { clockTime, say } from "./words.js";

// A note may come to lie under a finger that was meant for something else: for so long, in
// milliseconds, its button does nothing.
const UNMEANT = 800;

let drawn = "";
let drawnAt = 0;

/* One at a time: the tiles need the room. */
export function drawNotes() {
  const note = NOTES.find(({ when }) => when());
  const sentence = note?.text() ?? "";
  if (sentence === drawn) return;
  drawn = sentence;
  drawnAt = performance.now();
  fillWith(byId("notes"), note ? [make("p", {}, sentence, note.way?.() ?? null)] : []);
  byId("notes").hidden = !note;
}

/* The first that holds is shown. */
const NOTES = [
  {
    when: () => state.pack !== null && state.packTrouble === "sign-in",
    text: () => say("kept-sign-in"),
    way: () => make("a", { class: "btn act", href: signInAddress() }, say("to-sign-in")),
  },
  {
    when: () => state.pack !== null && isCutOff(),
    text: () => say(cannotBeKept() ? "kept-cut-off-http" : "kept-cut-off", fetched()),
  },
  {
    when: () => isNewerWelcome(),
    text: () => say("newer-waits"),
    way: () => button("btn act", takeMeant, say("newer-take")),
  },
  {
    when: () => cannotBeKept() && isQuiet(),
    text: () => say("over-http"),
  },
  {
    when: () => state.keepingNews && isQuiet(),
    text: () => say("not-persistent"),
  },
];

/* For the sheet that tells what is kept on this tablet. */
export function aboutKeeping() {
  const told = [];
  if (cannotBeKept()) told.push(say("over-http"));
  else if (isKept() && state.packAt) told.push(say("kept-ready", fetched()));
  if (state.keeping === false) told.push(say("not-persistent"));
  return told.map((sentence) => make("p", {}, sentence));
}

function takeMeant() {
  if (performance.now() - drawnAt > UNMEANT) takeNewer();
}

function fetched() {
  return { since: clockTime(state.packAt) };
}

function isCutOff() {
  return state.packTrouble === "no-answer";
}

/* Before the first turn there is room and time to read. */
function isQuiet() {
  return !["floor", "hold"].includes(state.view) || meeting === null;
}

/* Never in the middle of a turn or a hold, and never while something is in this page's memory
   alone. */
function isNewerWelcome() {
  if (!newerWaits() || state.draft !== null || !byId("hold").hidden) return false;
  return state.box.durable || state.records.size === 0;
}
