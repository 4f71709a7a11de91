/* A fault that comes back in one evening, and the drill that mends it. Pure functions.

   "apart": of the children who are, or were, at another drill than the line, by id: {drill, since}.
   drill: its key, null for who is back; since: an id that sorts after the turns before that. */

import { drillsFor, isNotBegun, supportNow, turnsToday } from "./reading.js";

// So often on one day a fault is the same one again.
const AGAIN = 2;
// A stop sign that ended this for tonight: then it is the coach who says what comes next.
const ENDED = ["finished-tonight", "nothing-backward"];

/* The key of the drill at which a child is, by its id: a drill of its own, or the line's. */
export function drillKeyFor(id, apart, lineDrill) {
  return apart.get(id)?.drill ?? lineDrill;
}

/* {drill, fault}: the drill that mends a fault seen again, or null. Only a turn after "since" offers
   one; the faults before it count. */
export function nextDrill(pack, child, drill, surface, lines, since) {
  const again = faultsAgain(pack, child, drill, lines, since);
  if (pack.over || again.length === 0) return null;
  const { causes } = supportNow(pack, child, drill, surface, lines);
  if (causes.some((cause) => ENDED.includes(cause))) return null;
  for (const fault of again) {
    const mend = firstOpenMend(pack, child, drill, fault, surface, lines);
    if (mend) return { drill: mend, fault };
  }
  return null;
}

/* The faults of a drill that were seen again, the latest first. */
function faultsAgain(pack, child, drill, lines, since) {
  const times = new Map();
  const again = [];
  for (const turn of turnsToday(child, drill.key, lines)) {
    if (isNotBegun(pack, turn)) continue;
    for (const key of turn.faults ?? []) {
      times.set(key, (times.get(key) ?? 0) + 1);
      if (times.get(key) >= AGAIN && turn.id > since) again.unshift(key);
    }
  }
  return [...new Set(again)].map((key) => drill.faults.find((fault) => fault.key === key)).filter(Boolean);
}

/* In the ladder's order. What nobody here may spot rests tonight. */
function firstOpenMend(pack, child, drill, fault, surface, lines) {
  const mayLog = drillsFor(pack);
  const rests = pack.spotters?.none ?? [];
  return (fault.mends ?? [])
    .filter((key) => key !== drill.key && !rests.includes(key))
    .map((key) => mayLog.find((one) => one.key === key))
    .find((mend) => mend && supportNow(pack, child, mend, surface, lines).support !== null);
}
