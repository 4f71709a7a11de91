/* How far this tablet's clock is off: it may be hours. Each line carries what is needed to work out
   when it was done. */

import { uuid7 } from "./uuid7.js";

// If wall and monotonic time drift apart by more than this (ms), the clock was set or the tablet
// slept.
const MOST_DRIFT = 2_000;

// Names one loading of this page: only its own monotonic times can be compared.
export const page = uuid7().slice(-12);

let offset = null;
// How far off that may be, since an answer takes time.
let doubt = 0;
let wallAhead = 0;

/* iso: the server's time in an answer. asked: performance.now() when the call was made. */
export function adjustClock(iso, asked) {
  const server = Date.parse(iso);
  if (Number.isNaN(server)) return;
  const half = (performance.now() - asked) / 2;
  const measured = Math.round(server + half - Date.now());
  // The same as before, as far as can be told: taps before and after keep their order.
  const known = clockOffset();
  if (known !== null && Math.abs(measured - known) <= half + doubt) return;
  offset = measured;
  doubt = half;
  wallAhead = Date.now() - performance.now();
}

/* What must be added to this clock to get the server's, in ms; null before the first contact,
   and when the clock has not run on evenly since the last one. */
export function clockOffset() {
  const steady = Math.abs(Date.now() - performance.now() - wallAhead) < MOST_DRIFT;
  return steady ? offset : null;
}

/* The fields of a line that say what the clocks were at the tap; "offset" only if it is known. */
export function clockFields() {
  const mono = Math.round(performance.now());
  const known = clockOffset();
  return known === null ? { page, mono } : { page, mono, offset: known };
}
