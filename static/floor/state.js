/* What the page knows, in one place, and who wants to hear when it changes. */

export const state = {
  // The answer of the pack call, or null before the first one.
  pack: null,
  // Why the class could not be fetched: a key of the page's words, or null.
  packTrouble: null,
  // Lines of this tablet by id: waiting, refused, and those acknowledged since the last pack.
  records: new Map(),
  box: null,
  device: "",
  // Whether the server can be reached, and if not, why: a key of the page's words, or null.
  linkTrouble: null,
  view: "floor",
  drill: null,
  surface: null,
  // Drills in the strip, most useful first.
  strip: [],
  // Support chosen for a child instead of the allowed one, by "child drill surface".
  given: new Map(),
  // The id of the turn whose faults are being picked.
  draft: null,
  // The id of the line logged last, for the quick undo.
  last: null,
};

const listeners = [];
let due = false;

export function onChange(listener) {
  listeners.push(listener);
}

/* Redraw before the next frame, once for however many changes. */
export function changed() {
  if (due) return;
  due = true;
  requestAnimationFrame(() => {
    due = false;
    for (const listener of listeners) listener();
  });
}

/* The meeting stands in the address of the page: /floor/<meeting>. */
export const meeting = location.pathname.replace(/\/+$/, "").split("/").pop();

export function address(ofMeeting, call) {
  const base = location.pathname.replace(/\/+$/, "").split("/").slice(0, -1);
  return [...base, ofMeeting, call].join("/");
}
