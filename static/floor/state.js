/* The state of the page, and the listeners that are called when it changes. */

export const state = {
  // The answer of the pack call, or null before the first one.
  pack: null,
  // Why the class could not be fetched: a key of the page's words, or null.
  packTrouble: null,
  // When that pack was asked for, by this tablet's clock, in ms.
  packAt: null,
  // Lines of this tablet by id: waiting, refused, and those acknowledged since the last pack.
  records: new Map(),
  // The names of the staff whose lines wait on this tablet, by public id.
  names: {},
  // Notes that wait on this tablet.
  notes: [],
  store: null,
  device: "",
  // Whether the server can be reached, and if not, why: a key of the page's words, or null.
  linkTrouble: null,
  // The same for the lines of one class and one person, by the sender's groupOf(record).
  heldBack: new Map(),
  view: "floor",
  // Turns of a class that is over are meant.
  logsLate: false,
  drill: null,
  surface: null,
  // Who is at another drill than the line, by id, as in rules/next_drill.js; and an id that sorts after
  // the turns before the line came to its drill.
  apart: new Map(),
  lineSince: "",
  // Drills in the strip, most useful first.
  strip: [],
  // Support chosen for a child instead of the allowed one, by "child drill surface".
  supportChoices: new Map(),
  // The ids of the children at this tablet's station, or null for everybody; and the order in which
  // the tiles were asked for last, or null for the names'.
  station: null,
  order: null,
  // The rotation that the tiles follow, {id, number, stations}, or null; which of its stations is this
  // tablet's, as in rules/rotation.js; and whether the line left it for another drill by hand.
  rotation: null,
  lead: null,
  offPlan: false,
  // The id of the turn whose faults are being picked.
  draft: null,
  // Whether the browser has promised to keep what this page stores (null: not known), and
  // whether it has just refused.
  persistent: null,
  persistenceRefused: false,
  // The ids of the turns that the last tap logged, for the quick undo.
  last: [],
  // When something was logged last on this page, by its monotonic clock.
  tappedAt: -Infinity,
};

// After so long, in ms, no frame comes any more: the page has just gone into the background.
const LONGEST_FRAME = 500;
// From the begin of a frame until it is on the screen of a slow tablet, in ms.
const PAINTING = 50;

const listeners = [];
const lateListeners = [];
// Who waits until what was changed is in sight.
let waiting = [];
const redrawTask = new MessageChannel();
let redrawDue = false;

export function onChange(listener) {
  listeners.push(listener);
}

/* For what may be seen a frame later: what is under the finger goes first. */
export function onChangeSeen(listener) {
  lateListeners.push(listener);
}

/* Redraw in a task of its own, once for all changes of the present task. Not in the next frame:
   this way a tap is already seen in that frame, and a page in the background is drawn as well. */
export function changed() {
  if (redrawDue) return;
  redrawDue = true;
  redrawTask.port2.postMessage(null);
}

redrawTask.port1.onmessage = async () => {
  redrawDue = false;
  const seen = waiting;
  waiting = [];
  for (const listener of listeners) listener();
  await nextFrame();
  for (const listener of lateListeners) listener();
  for (const resolve of seen) resolve();
};

/* After "changed": resolves once it is in sight. */
export function inSight() {
  return new Promise((resolve) => waiting.push(resolve));
}

/* Resolves when the next frame is in sight; at once in the background, where there are none. */
function nextFrame() {
  if (document.visibilityState !== "visible") return Promise.resolve();
  return new Promise((resolve) => {
    setTimeout(resolve, LONGEST_FRAME);
    requestAnimationFrame(() => setTimeout(resolve, PAINTING));
  });
}

/* The meeting is in the address of the page, /floor/<meeting>; at /floor/ there is none. */
const split = location.pathname.lastIndexOf("/") + 1;
const lastPart = location.pathname.slice(split);
export const meeting = /^[0-9a-f-]{36}$/.test(lastPart) ? lastPart : null;

export function shellAddress(rest) {
  return location.pathname.slice(0, split) + rest;
}

export function tonightAddress() {
  return document.querySelector(".home").pathname;
}

/* Where signing in and changing over lead back to: this class, or tonight's if it is over. */
export function returnAddress() {
  return state.pack?.over ? tonightAddress() : location.pathname;
}

export function signInAddress() {
  const next = encodeURIComponent(returnAddress());
  return `${document.documentElement.dataset.signIn}?next=${next}`;
}

/* The address of a meeting's page, or of one of its calls. */
export function address(ofMeeting, call = "") {
  return shellAddress(call ? `${ofMeeting}/${call}` : ofMeeting);
}
