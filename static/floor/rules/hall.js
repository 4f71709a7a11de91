/* What was said of the hall this evening: in the pack, and in lines that are not in it yet. Of two
   that say the opposite the later one counts. Pure functions. */

import { byTime, indexOf } from "./line_index.js";

export const SPOTTER_GONE = "spotter-gone";
export const SPOTTER_BACK = "spotter-back";
export const MATS_LOOKED_AT = "mats-looked-at";
export const MAT_BROKEN = "mat-broken";
export const MAT_MENDED = "mat-mended";

/* All of it, oldest first: {id, what, surface, at, by}. "by" is the name of whoever said so, of a
   line that has just been written the public id. */
function reports(pack, lines) {
  const found = new Map((pack.hall ?? []).map((each) => [each.id, each]));
  for (const line of indexOf(lines).reports.get("hall undefined") ?? []) {
    if (!found.has(line.id)) found.set(line.id, line);
  }
  return [...found.values()].sort(byTime);
}

function last(pack, lines, codes) {
  return reports(pack, lines).findLast(({ what }) => codes.includes(what)) ?? null;
}

/* Who said so and when, while it is so; or null. */
export function spotterGone(pack, lines) {
  const said = last(pack, lines, [SPOTTER_GONE, SPOTTER_BACK]);
  return said?.what === SPOTTER_GONE ? said : null;
}

/* Who looked at the mats last, and when; or null. */
export function matsLookedAt(pack, lines) {
  return last(pack, lines, [MATS_LOOKED_AT]);
}

/* The surfaces that are out of use, by key, each with what was said. */
export function brokenMats(pack, lines) {
  const found = new Map();
  for (const report of reports(pack, lines)) {
    if (report.what === MAT_BROKEN) found.set(report.surface, report);
    else if (report.what === MAT_MENDED) found.delete(report.surface);
  }
  return found;
}
