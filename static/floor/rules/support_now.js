/* The support for the next turn, during a class: what the day began with
   (readiness/engine/day_start.py) and today's turns, by the rules of readiness/engine/support.py.
   What asks for more counts at once; what allows less counts from the next day. Pure functions.

   Turns are as in gate_now.js, with {id, faults, caught}, in the order in which they were done. */

import { addDay, sureness } from "./clean_rate.js";
import { countOf } from "./gate_now.js";

const HANDS_ON = 3;
const STANDING_BY = 1;

/* Is a fault a stop sign, seen at this support for so many times today, this turn among them? */
export function isStopSign(kind, support, times) {
  if (kind === "yes") return true;
  if (kind === "second") return times >= 2;
  return kind === "unheld" && support <= STANDING_BY;
}

/* Of each turn, whether it is a stop sign. "stops" says of a fault how it is one. */
export function stopSigns(turns, stops) {
  const seen = new Map();
  return turns.map((turn) => {
    const faults = new Set(turn.faults ?? []);
    for (const fault of faults) seen.set(fault, (seen.get(fault) ?? 0) + 1);
    const isStop = (fault) => isStopSign(stops[fault], turn.support, seen.get(fault));
    return turn.caught === true || [...faults].some(isStop);
  });
}

/* The child stopped before it began, and nothing else was seen. */
export function isNoTurn(turn, stops) {
  const faults = turn.faults ?? [];
  return faults.length > 0 && turn.caught !== true && faults.every((fault) => stops[fault] === "before");
}

/* {support, causes, falls} for the next turn at a drill on a surface. support null: not this
   drill, not now. "at" gives of a drill {start, turns}; "today" are the day's turns at all drills,
   each with its {drill}. rules: the pack's. */
export function allowedNow(drill, surface, at, today, rules) {
  const { start, turns } = at(drill);
  let raised = supportOfDrill(start, turns, surface, rules);
  for (const skill of rules.behind[drill] ?? []) {
    const behind = at(skill);
    // A drill whose skill is closed is closed itself.
    const asked = behind.start && supportOfDrill(behind.start, behind.turns, surface, rules);
    if (asked) raised = moreCautious(raised, asked);
  }
  if (raised.support === null) return raised;
  if (endsTonight(drill, today, rules)) return { ...raised, support: null, causes: ["nothing-backward"] };
  if (hasDoubt(drill, start, turns, today, rules)) {
    raised = withAtLeast(raised, oneStepMore(start.allowed[surface]), "doubt");
  }
  const first = start.first?.[surface];
  if (first !== undefined && !isFirstTurnDone(turns, first, surface, rules)) {
    raised = withAtLeast(raised, first, rules.first_misses ? "until-clean" : "first-turn");
  }
  if (start.growing && !hasBegun(turns, rules)) raised = withAtLeast(raised, oneStepMore(raised.support), "growing");
  return raised;
}

/* A fault seen today at any drill leaves out what goes backward or upside down. */
export function endsTonight(drill, today, rules) {
  const ends = rules.ends ?? [];
  return (rules.goes ?? []).includes(drill) && today.some((turn) => turn.faults?.some((fault) => ends.includes(fault)));
}

/* A drill of which support is not logged ends for the day with a stop sign. */
export function isFinished(turns, rules) {
  return rules.finishes === true && stopSigns(turns, rules.stops).includes(true);
}

/* Doubt at another skill: seen today, or on the child's last class day and this is the first turn. */
function hasDoubt(drill, start, turns, today, rules) {
  if (!rules.skills?.includes(drill)) return false;
  if (start.doubt && !hasBegun(turns, rules)) return true;
  const others = rules.skills.filter((skill) => skill !== drill);
  return others.some((skill) =>
    Object.entries(rules.carries).some(
      ([fault, times]) => today.filter((turn) => turn.drill === skill && turn.faults?.includes(fault)).length >= times,
    ),
  );
}

/* After the day's first turn at a drill; a stop before a turn is none. */
function hasBegun(turns, rules) {
  return turns.some((turn) => !isNoTurn(turn, rules.stops));
}

/* Is the first turn's support no longer asked for? By the ladder's rule once a graded turn with
   that support itself, on this surface, in this class, was clean, before too many that were not. */
function isFirstTurnDone(turns, support, surface, rules) {
  const most = rules.first_misses;
  if (!most) return hasBegun(turns, rules);
  let missed = 0;
  for (const turn of turns) {
    if (turn.here === false || turn.surface !== surface || isNoTurn(turn, rules.stops)) continue;
    if (turn.clean === true && turn.graded && turn.support === support) return missed < most;
    if (turn.clean === false) missed += 1;
  }
  return false;
}

function withAtLeast(allowed, support, cause) {
  if (support <= allowed.support) return allowed;
  return { ...allowed, support, causes: [...allowed.causes, cause] };
}

function oneStepMore(support) {
  return Math.min(support + 1, HANDS_ON);
}

function moreCautious(own, behind) {
  const falls = [...own.falls, ...behind.falls];
  if (caution(behind) <= caution(own)) return { ...own, falls };
  return { support: behind.support, causes: unique([...own.causes, ...behind.causes]), falls };
}

/* A number for comparing: "nothing allowed" is more cautious than hands-on. */
function caution({ support }) {
  return support ?? HANDS_ON + 1;
}

/* A drill by itself: walk through the day's turns; each stop sign and each fall of lately asks
   for more. start: {allowed, causes, asks, stages, watch}. */
function supportOfDrill(start, turns, surface, rules) {
  let support = start.allowed[surface] ?? null;
  const causes = [...(start.causes[surface] ?? [])];
  const falls = [];
  if (support === null) return { support, causes, falls };
  const stops = stopSigns(turns, rules.stops);
  const fallen = new Set();
  const walked = [];
  let notBegun = 0;
  turns.forEach((turn, at) => {
    if (isNoTurn(turn, rules.stops)) {
      notBegun += 1;
      const asked = oneStepMore(start.allowed[surface]);
      if (notBegun === rules.stopped_before && support !== null && asked > support) {
        support = asked;
        causes.push("stopped-before");
      }
      return;
    }
    walked.push(turn);
    if (stops[at]) {
      causes.push(support === HANDS_ON || support === null ? "finished-tonight" : "stop-sign");
      support = support === HANDS_ON || support === null ? null : HANDS_ON;
      falls.push({ code: "stop-sign", stages: start.stages, asks: HANDS_ON });
    }
    for (const watch of start.watch) {
      if (fallen.has(watch) || !hasFallen(watch, walked, rules)) continue;
      fallen.add(watch);
      falls.push({ code: "lately", stages: [watch.stage], asks: start.asks });
      if (support !== null && start.asks > support) {
        support = start.asks;
        causes.push("lately");
      }
    }
  });
  return { support, causes: unique(causes), falls };
}

/* Is lately, with today's turns so far, under that share of what knowing nothing would give? */
function hasFallen(watch, turns, rules) {
  const today = countOf(turns, watch);
  if (today.turns === 0) return false;
  const short = { ...rules.memory, days: rules.memory.lately };
  const lately = sureness(addDay(watch.sums, today.turns, today.clean, short), watch.rate);
  // A pack of an earlier release has no share: then it is a fall, the more cautious answer.
  return !(lately >= (1 - watch.rate) * rules.fall_share);
}

function unique(codes) {
  return [...new Set(codes)];
}
