/* What the page knows, in one place, and who wants to hear when it changes. */

export const state = {
  // The answer of the pack call, or null before the first one.
  pack: null,
  // Why the class could not be fetched: a key of the page's words, or null.
  packTrouble: null,
  // When that pack was asked for, by this tablet's clock, in ms.
  packAt: null,
  // Lines of this tablet by id: waiting, refused, and those acknowledged since the last pack.
  records: new Map(),
  box: null,
  device: "",
  // Whether the server can be reached, and if not, why: a key of the page's words, or null.
  linkTrouble: null,
  // The same for the lines of one class and one person, by the sender's groupOf(record).
  heldBack: new Map(),
  view: "floor",
  drill: null,
  surface: null,
  // Drills in the strip, most useful first.
  strip: [],
  // Support chosen for a child instead of the allowed one, by "child drill surface".
  given: new Map(),
  // The id of the turn whose faults are being picked.
  draft: null,
  // Whether the browser has promised to keep what this page stores (null: not known), and
  // whether it said no just now.
  keeping: null,
  keepingNews: false,
  // The ids of the turns that the last tap logged, for the quick undo.
  last: [],
  // When something was logged last on this page, by its monotonic clock.
  tappedAt: -Infinity,
};

const listeners = [];
const turn = new MessageChannel();
let due = false;

export function onChange(listener) {
  listeners.push(listener);
}

/* Redraw in a task of its own, once for however many changes the present one makes. Not in the
   next frame: drawn before it begins, a tap is seen in that very frame, and a page behind
   another is drawn as well. */
export function changed() {
  if (due) return;
  due = true;
  turn.port2.postMessage(null);
}

turn.port1.onmessage = () => {
  due = false;
  for (const listener of listeners) listener();
};

/* The meeting stands in the address of the page, /floor/<meeting>; at /floor/ there is none. */
const cut = location.pathname.lastIndexOf("/") + 1;
const last = location.pathname.slice(cut);
export const meeting = /^[0-9a-f-]{36}$/.test(last) ? last : null;

export function shellAddress(rest) {
  return location.pathname.slice(0, cut) + rest;
}

/* From there one comes back to this page. */
export function signInAddress() {
  const next = encodeURIComponent(location.pathname);
  return `${document.documentElement.dataset.signIn}?next=${next}`;
}

/* Of a meeting's page, or of one of its calls. */
export function address(ofMeeting, call = "") {
  return shellAddress(call ? `${ofMeeting}/${call}` : ofMeeting);
}
