/* Where a gate stands now: what the record came to before today (readiness/engine/day_start.py)
   and today's turns, by the rules of readiness/engine/gates/. Pure functions.

   A turn here is {clean | value, support, rank, graded, author}: "rank" is the place of its
   surface, easiest first, and "author" a number that tells people apart. Turns stand in the
   order in which they were done. */

import { addDay, sureness } from "./clean_rate.js";

const BILLION = 1e9;

/* The gate that is shown at a drill: {code, rank, before} or, while the surface that a
   signature would be for is still open, {code, used, asking: [{code, before}]}. "rules" is the
   pack's; turnsAt gives today's turns at a drill. */
export function readGate(start, rules, turnsAt) {
  const rank = start.asking ? bestRank(start, rules, turnsAt) : start.rank;
  const before = start.asking?.find((each) => each.code === start.code).before ?? start.before;
  return readKind(rules.gates[start.code], before, rank, rules, turnsAt);
}

function readKind(gate, before, rank, rules, turnsAt) {
  const turns = turnsAt(gate.drill);
  switch (gate.kind) {
    case "clean":
      return readClean(gate, cleanRow(before, rank), countOf(turns, { ...gate, rank }), rules);
    case "reach":
      return readReach(gate, before, [turns, gate.or_drill ? turnsAt(gate.or_drill) : []], rules);
    case "count":
      return readCount(gate, before, turns, rules);
    case "seen-by-two":
      return readSeenByTwo(gate, before, turns, rank, rules);
    default:
      return readFirstTurn(gate, before, turns, rank);
  }
}

/* How many of these turns count in a scope {support, rank, graded}, and how many were clean. */
export function countOf(turns, scope) {
  const counted = turns.filter((turn) => isInScope(turn, scope));
  return { turns: counted.length, clean: counted.filter((turn) => turn.clean === true).length };
}

function isInScope(turn, { support, rank, graded }) {
  return turn.support <= support && turn.rank >= rank && (turn.graded || !graded);
}

/* A turn counts for its own surface and easier ones: the row of the easiest surface used that
   is at least as hard. A row: [rank, clean sum, missed sum, clean days, clean turns, age, turns];
   an older one has no turns. */
function cleanRow(rows, rank) {
  const row = rows.find((each) => each[0] >= rank) ?? [rank, 0, 0, 0, 0, null, 0];
  const [, cleanSum, missedSum, days, clean, age, turns = null] = row;
  return { sums: [cleanSum, missedSum], days, clean, age, turns };
}

/* Sureness, and clean turns that are enough, on enough days, and fresh. */
export function readClean(gate, before, today, rules) {
  const sums = today.turns ? addDay(before.sums, today.turns, today.clean, rules.memory) : before.sums;
  const value = sureness(sums, gate.rate);
  const days = before.days + (today.clean > 0 ? 1 : 0);
  const clean = before.clean + today.clean;
  const turns = before.turns === null ? null : before.turns + today.turns;
  const age = today.clean > 0 ? 0 : before.age;
  const fresh = age !== null && age <= gate.fresh;
  const met = value >= gate.need && days >= gate.days && clean >= gate.clean && fresh;
  const nothing = 1 - gate.rate;
  const sure = (value - nothing) / (gate.need - nothing);
  const share = Math.min(sure, days / gate.days, clean / gate.clean);
  const progress = met ? 1 : Math.max(0, Math.min(rules.unmet_most, share));
  return { value, need: gate.need, met, progress, days, clean, age, turns };
}

/* The best values of earlier days, and today's: the day's best, or the second-best graded; of two
   drills the better one. */
function readReach(gate, before, turnsOfDrills, rules) {
  const today = turnsOfDrills.filter((turns) => turns.length).map((turns) => dayValue(gate, turns));
  const ranked = today.length ? [...before, Math.max(...today)] : [...before];
  ranked.sort((one, other) => other - one);
  const value = ranked[gate.days - 1] ?? 0;
  const met = value >= gate.need;
  const reached = ranked.filter((each) => each >= gate.need).length;
  const days = { days: Math.min(reached, gate.days), days_need: gate.days };
  const progress = progressOf(met, value / gate.need, rules);
  return { value, best: ranked[0] ?? 0, need: gate.need, met, ...days, ...progress };
}

function dayValue(gate, turns) {
  if (!gate.graded) return Math.max(...turns.map((turn) => turn.value ?? 0));
  const graded = turns.filter((turn) => turn.graded).map((turn) => turn.value ?? 0);
  return graded.sort((one, other) => other - one)[1] ?? 0;
}

function readCount(gate, before, turns, rules) {
  const value = before + turns.filter((turn) => turn.clean === true).length;
  const met = value >= gate.need;
  return { value, best: value, need: gate.need, met, ...progressOf(met, value / gate.need, rules) };
}

/* before: [author, age in days, rank, graded clean turns]. */
function readSeenByTwo(gate, before, turns, rank, rules) {
  const today = turns
    .filter((turn) => turn.clean === true && isInScope(turn, { ...gate, rank: 0, graded: true }))
    .map((turn) => [turn.author, 0, turn.rank, 1]);
  const seen = new Map();
  for (const [author, age, hard, clean] of [...before, ...today]) {
    if (hard < rank) continue;
    const days = seen.get(author) ?? new Map();
    seen.set(author, days.set(age, (days.get(age) ?? 0) + clean));
  }
  const graders = [...seen.values()];
  const met = graders.some((one, at) => graders.slice(at + 1).some((other) => bothSaw(one, other, gate.one_class)));
  return { met, ...progressOf(met, graders.length / 2, rules) };
}

/* On two days together, or so many turns each in one class. */
function bothSaw(one, other, oneClass) {
  if (new Set([...one.keys(), ...other.keys()]).size >= 2) return true;
  return [...one].some(([age, clean]) => Math.min(clean, other.get(age)) >= oneClass);
}

/* before: the hardest surface for which the first turn of the latest earlier day will do, or
   null. */
function readFirstTurn(gate, before, turns, rank) {
  const [first] = turns;
  const hard =
    first && first.clean === true && isInScope(first, { ...gate, rank: 0, graded: true }) ? first.rank : null;
  const reached = first ? hard : before;
  const met = reached !== null && reached >= rank;
  return { met, progress: met ? 1 : 0 };
}

function progressOf(met, share, rules) {
  return { progress: met ? 1 : Math.min(rules.unmet_most, share) };
}

/* The surface for which the gates of a signature are read before there is one: the hardest on
   which all of them are met, else the one that has come furthest, the harder of equals. */
function bestRank({ used, asking }, rules, turnsAt) {
  const today = turnsAt(rules.gates[asking[0].code].drill).map((turn) => turn.rank);
  const ranks = [...new Set([...used, ...today])];
  if (ranks.length === 0) return 0;
  const worth = ranks.map((rank) => {
    const all = asking.map(({ code, before }) => readKind(rules.gates[code], before, rank, rules, turnsAt));
    const total = all.reduce((sum, each) => sum + each.progress, 0);
    return [Number(all.every((each) => each.met)), Math.round(total * BILLION), rank];
  });
  return worth.sort((one, other) => other[0] - one[0] || other[1] - one[1] || other[2] - one[2])[0][2];
}
