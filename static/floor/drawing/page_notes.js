/* One line about the page itself, such as no network or a newer page. Logging goes on meanwhile. */

import { spotterSentence } from "../entry/hall.js";
import { canSign } from "../sending/signing.js";
import { meeting, signInAddress, state } from "../state.js";
import { applyUpdate, cannotCache, hasUpdate, isCached } from "../tablet/shell.js";
import { drillName } from "./code_names.js";
import { button, byId, fillWith, make } from "./dom.js";
import { clockTime, say } from "./words.js";

// A note may appear under a finger that aims at something else: its button does nothing for so
// long, in milliseconds.
const UNMEANT = 800;

let drawn = "";
let drawnAt = 0;

/* One note at a time: the tiles need the room. "now": the lines. */
export function drawNotes(now) {
  const note = NOTES.find(({ when }) => when(now));
  const sentence = note?.text(now) ?? "";
  if (sentence === drawn) return;
  drawn = sentence;
  drawnAt = performance.now();
  fillWith(byId("notes"), note ? [make("p", {}, sentence, note.way?.() ?? null)] : []);
  byId("notes").hidden = !note;
}

/* The first one whose condition holds is shown. */
const NOTES = [
  {
    when: () => state.pack !== null && state.packTrouble === "sign-in",
    text: () => say("kept-sign-in"),
    way: () => make("a", { class: "btn act", href: signInAddress() }, say("to-sign-in")),
  },
  {
    when: (now) => state.view === "floor" && state.pack !== null && spotterSentence(now) !== "",
    text: (now) => spotterSentence(now),
  },
  {
    when: () => state.view === "floor" && state.pack?.spotters?.none?.includes(state.drill),
    text: () => say("nobody-spots", { drill: drillName(state.drill) }),
  },
  {
    when: () => state.pack !== null && isOffline(),
    text: () => say(cannotCache() ? "kept-cut-off-http" : "kept-cut-off", fetchedSince()),
  },
  {
    when: () => mayOfferUpdate(),
    text: () => say("newer-waits"),
    way: () => button("btn act", applyUpdateIfMeant, say("newer-take")),
  },
  {
    when: () => cannotCache() && isQuiet(),
    text: () => say("over-http"),
  },
  {
    when: () => state.persistenceRefused && isQuiet(),
    text: () => say("not-persistent"),
  },
  {
    when: () => !canSign(state.store) && isQuiet(),
    text: () => say("unsigned"),
  },
];

/* For the sheet that lists what is stored on this tablet. */
export function storageNotes() {
  const sentences = [];
  if (cannotCache()) sentences.push(say("over-http"));
  else if (isCached() && state.packAt) sentences.push(say("kept-ready", fetchedSince()));
  if (state.persistent === false) sentences.push(say("not-persistent"));
  if (!canSign(state.store)) sentences.push(say("unsigned"));
  return sentences.map((sentence) => make("p", {}, sentence));
}

function applyUpdateIfMeant() {
  if (performance.now() - drawnAt > UNMEANT) applyUpdate();
}

function fetchedSince() {
  return { since: clockTime(state.packAt) };
}

function isOffline() {
  return state.packTrouble === "no-answer";
}

/* Before the first turn there is room and time to read. */
function isQuiet() {
  return !["floor", "hold"].includes(state.view) || meeting === null;
}

/* Never in the middle of a turn or a hold, and never while something is in this page's memory
   alone. */
function mayOfferUpdate() {
  if (!hasUpdate() || state.draft !== null || !byId("hold").hidden) return false;
  return state.store.durable || state.records.size === 0;
}
