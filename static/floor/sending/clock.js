/* How far this tablet's clock is out. A tablet may be wrong by hours and by time zones; each line
   carries what is needed to know when it was done all the same. */

import { uuid7 } from "./uuid7.js";

// The clock was set, or the tablet slept, if wall and monotonic time part by more than this (ms).
const APART = 2_000;

// One loading of this page: monotonic times of the same page can be compared.
export const page = uuid7().slice(-12);

let offset = null;
let wallAhead = 0;

/* The server has told its time. "asked": performance.now() when it was asked. */
export function hearTime(iso, asked) {
  const server = Date.parse(iso);
  if (Number.isNaN(server)) return;
  const half = (performance.now() - asked) / 2;
  offset = Math.round(server + half - Date.now());
  wallAhead = Date.now() - performance.now();
}

/* What must be added to this clock to get the server's, in ms; null before the first contact,
   and when the clock has not run on evenly since the last one. */
export function clockOffset() {
  const even = Math.abs(Date.now() - performance.now() - wallAhead) < APART;
  return even ? offset : null;
}

/* What a line says of the clock at the tap: page load, monotonic time, and the offset to the
   server where it is known. */
export function stamp() {
  const mono = Math.round(performance.now());
  const known = clockOffset();
  return known === null ? { page, mono } : { page, mono, offset: known };
}
