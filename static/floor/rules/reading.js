/* What the page shows, worked out from the pack and from lines that are not in it yet.
   Pure functions: nothing is fetched, stored or drawn here. */

import { readGate } from "./gate_now.js";
import { allowedNow, endsTonight, isFinished, isNoTurn, isStopSign, stopSigns } from "./support_now.js";

const HANDS_ON = 3;
const LIGHT_TOUCH = 2;
const SOMEBODY_ELSE = -1;
// Of one list of lines: what was struck, turns by child and drill, the others by child.
const indexes = new WeakMap();

export function drillOf(pack, key) {
  return pack.drills.find((drill) => drill.key === key) ?? null;
}

/* Grades are given by those who may grade; everything else by everybody. */
export function drillsFor(pack) {
  return pack.drills.filter((drill) => pack.me.grades || drill.measure !== "grade");
}

/* Lines of this class that count although the pack may not have them yet. */
export function linesOfMeeting(records, meeting) {
  return [...records.values()]
    .filter((record) => record.meeting === meeting && !isRefused(record))
    .map((record) => record.line);
}

export function isRefused(record) {
  return record.answer === "refused" || record.answer === "differs";
}

export function isWaiting(record) {
  return record.answer === null;
}

export function presentChildren(pack, lines) {
  return pack.children.filter((child) => isPresent(child, lines) === true);
}

/* The children present: "ready" may do a drill now, "notReady" may not. */
export function presentByReadiness(pack, drill, surface, lines) {
  const here = presentChildren(pack, lines);
  const may = (child) => supportNow(pack, child, drill, surface, lines).support !== null;
  return { ready: here.filter(may), notReady: here.filter((child) => !may(child)) };
}

/* By the latest statement; null if there is none. */
export function isPresent(child, lines) {
  const statements = reportsOf(child, "here", lines);
  return statements.length ? statements.reduce(later).present : child.present;
}

/* The unstruck turns of today at a drill, oldest first: the pack's, and those of the lines. */
export function turnsToday(child, drill, lines) {
  const { struck, turns: logged } = indexOf(lines);
  const turns = new Map((child.drills[drill]?.today ?? []).map((turn) => [turn.id, turn]));
  for (const line of logged.get(`${child.id} ${drill}`) ?? []) {
    turns.set(line.id, { ...line, mine: true, caught: line.caught ?? false });
  }
  return [...turns.values()].filter((turn) => !struck.has(turn.id)).sort(byTime);
}

function indexOf(lines) {
  if (!indexes.has(lines)) indexes.set(lines, makeIndex(lines));
  return indexes.get(lines);
}

function makeIndex(lines) {
  const index = {
    struck: new Set(),
    children: new Map(),
    turns: new Map(),
    // Of the other kinds, by kind and child.
    reports: new Map(),
  };
  for (const line of lines) {
    append(index.children, line.child, line);
    if (line.kind === "strike") index.struck.add(line.turn);
    else if (line.kind === "turn") append(index.turns, `${line.child} ${line.drill}`, line);
    else append(index.reports, `${line.kind} ${line.child}`, line);
  }
  return index;
}

function append(lists, key, line) {
  if (!lists.has(key)) lists.set(key, []);
  lists.get(key).push(line);
}

function reportsOf(child, kind, lines) {
  return indexOf(lines).reports.get(`${kind} ${child.id}`) ?? [];
}

/* The lines about a child, and how many turns were struck: as long as these and the pack stay the
   same, so does everything that is worked out here. */
export function linesAbout(child, lines) {
  const { children, struck } = indexOf(lines);
  return [struck.size, ...(children.get(child.id) ?? [])];
}

/* The same turns with what gates and support ask of them: who saw it, graded or not, and the
   place of its surface. A line counts as graded if it is one's own and one may grade. */
function countedTurns(pack, child, drill, lines) {
  const ranks = pack.surfaces.map((surface) => surface.key);
  return turnsToday(child, drill, lines).map((turn) => {
    const rank = Math.max(0, ranks.indexOf(turn.surface));
    if (turn.kind !== "turn") return { ...turn, rank };
    const own = (turn.by ?? pack.me.id) === pack.me.id;
    return { ...turn, rank, graded: own && pack.me.grades, author: own ? 0 : SOMEBODY_ELSE };
  });
}

/* Where the gate that is shown at a drill stands now, or null: {measure: "sure" | "best", value,
   need, met, progress, moved}. Sureness is rounded down to hundredths: 79.9 % must not look like
   the 80 % that opens a gate. "moved": since the pack was made. */
export function progressNow(pack, child, drill, lines) {
  const entry = child.drills[drill.key];
  if (!entry?.gate) return null;
  const isTurn = (turn) => !isNoTurn(turn, pack.rules.stops);
  const turnsAt = (key) => countedTurns(pack, child, key, lines).filter(isTurn);
  // Told just now that the child grows fast: earlier days at this drill no longer count.
  const anew = child.growing === false && isGrowing(child, lines) && pack.rules.grows === drill.key;
  const start = anew && pack.rules.gates[entry.gate.code].kind === "reach" ? { ...entry.gate, before: [] } : entry.gate;
  const now = readGate(start, pack.rules, turnsAt);
  const moved = anew || hasMoved(entry, turnsToday(child, drill.key, lines));
  if (pack.rules.gates[entry.gate.code].kind === "clean") {
    const value = Math.floor(Math.round(now.value * 1e8) / 1e6) / 100;
    return { ...now, measure: "sure", value, moved };
  }
  return { ...now, measure: "best", value: now.best, moved };
}

function hasMoved(entry, turns) {
  const known = new Set(entry.today.map((turn) => turn.id));
  return turns.length !== known.size || turns.some((turn) => !known.has(turn.id));
}

/* The unstruck turns of these ids, in the pack or the lines, oldest first. */
export function findTurns(ids, pack, lines) {
  const found = lines.filter((line) => line.kind === "turn" && ids.includes(line.id));
  const places = found.map((line) => [line.child, line.drill]);
  if (found.length < ids.length) places.push(...placesInPack(ids, pack));
  const unique = new Map(places.map((place) => [place.join(" "), place]));
  return [...unique.values()]
    .flatMap(([id, key]) => {
      const child = pack.children.find((one) => one.id === id);
      const drill = drillOf(pack, key);
      if (!child || !drill) return [];
      const turns = turnsToday(child, key, lines).filter((turn) => ids.includes(turn.id));
      return turns.map((turn) => ({ child, drill, turn }));
    })
    .sort((one, other) => byTime(one.turn, other.turn));
}

function placesInPack(ids, pack) {
  return pack.children.flatMap((child) =>
    Object.entries(child.drills)
      .filter(([, { today }]) => today.some((turn) => ids.includes(turn.id)))
      .map(([key]) => [child.id, key]),
  );
}

/* One's own turns of today at any drill, newest first. */
export function ownTurns(pack, lines) {
  const found = [];
  for (const child of pack.children) {
    for (const drill of pack.drills) {
      for (const turn of turnsToday(child, drill.key, lines)) {
        if (turn.mine) found.push({ child, drill, turn });
      }
    }
  }
  return found.sort((one, other) => byTime(other.turn, one.turn));
}

/* Places that hurt today: the pack's, and those reported since. */
export function painsToday(child, lines) {
  const reports = reportsOf(child, "hurt", lines);
  return [...new Set([...child.pains, ...reports.map((line) => line.place)])];
}

/* What hurt on an earlier day and is still to be asked about: [{place, says}]. Said to be gone, it
   is gone at once; still there, it hurts today. */
export function askedAbout(child, lines) {
  const gone = reportsOf(child, "gone", lines).map((line) => line.place);
  const answered = new Set([...gone, ...painsToday(child, lines)]);
  return (child.asked ?? []).filter(({ place }) => !answered.has(place));
}

/* Told to grow fast, in the pack or just now. */
export function isGrowing(child, lines) {
  return child.growing === true || reportsOf(child, "growing", lines).length > 0;
}

/* Of what the family was told today, to whom and when: what the pack says, then the lines. */
export function familyTold(pack, child, lines) {
  const known = (pack.told ?? []).filter((each) => each.child === child.id);
  const ids = new Set(known.map((each) => each.id));
  return [...known, ...reportsOf(child, "told", lines).filter((line) => !ids.has(line.id))];
}

/* The child's own "no hands tonight": the ids of its lines that nobody has taken back. */
export function noHandsTonight(child, lines) {
  const said = reportsOf(child, "no-hands", lines).map((line) => line.id);
  const { struck } = indexOf(lines);
  return [...new Set([...(child.no_hands ?? []), ...said])].filter((id) => !struck.has(id));
}

/* Head and neck at once; another place when it hurt on an earlier day as well, not long ago. */
export function isPaused(pack, child, lines) {
  const pausing = new Set(pack.pain.filter((pain) => pain.pause).map((pain) => pain.place));
  for (const place of child.again ?? []) pausing.add(place);
  return child.paused || painsToday(child, lines).some((place) => pausing.has(place));
}

/* Is this fault, seen at this support, a stop sign? "before" are the day's earlier turns. */
export function isStop(fault, support, before) {
  const times = 1 + before.filter((turn) => turn.faults?.includes(fault.key)).length;
  return isStopSign(fault.stop, support, times);
}

/* The child stopped before it began: thanked, and counted as nothing. */
export function isNotBegun(pack, turn) {
  return isNoTurn(turn, pack.rules.stops);
}

/* The drills that mend what was seen in a turn, as far as this child may do them now. */
export function openMends(pack, child, turn, lines) {
  const faults = drillOf(pack, turn.drill).faults.filter((fault) => turn.faults?.includes(fault.key));
  const keys = new Set(faults.flatMap((fault) => fault.mends ?? []));
  const drills = [...keys].map((key) => drillOf(pack, key)).filter(Boolean);
  return drills.filter((drill) => supportNow(pack, child, drill, turn.surface, lines).support !== null);
}

/* Was something seen after which nothing goes backward or upside down that evening? */
export function endsBackward(pack, turn) {
  return (pack.rules.ends ?? []).some((fault) => turn.faults?.includes(fault));
}

/* Was something seen that may have been a blow to the head? */
export function asksAboutHead(pack, turn) {
  return (pack.rules.asks_head ?? []).some((fault) => turn.faults?.includes(fault));
}

export function hasStop(pack, turn, before) {
  return stopSigns([...before, turn], pack.rules.stops).at(-1);
}

/* The least support for the next turn, why, and what today's turns have changed:
   {support, causes, falls}. support null: not this drill, not now. */
export function supportNow(pack, child, drill, surface, lines) {
  const entry = entryOf(child, drill.key);
  if (!entry) return { support: null, causes: ["closed"], falls: [] };
  if (isPaused(pack, child, lines)) return { support: null, causes: ["paused"], falls: [] };
  if (entry.open && isBarred(pack, child, drill, lines)) {
    return { support: null, causes: ["pain"], falls: [] };
  }
  if (entry.open && pack.rules.spotted?.includes(drill.key)) {
    if (child.no_consent) return { support: null, causes: ["no-consent"], falls: [] };
    if (noHandsTonight(child, lines).length) return { support: null, causes: ["no-hands"], falls: [] };
  }
  const today = turnsOfDay(pack, child, lines);
  const turnsAt = (key) => today.filter((turn) => turn.drill === key);
  if (!entry.start) {
    const start = entry.begins ?? entry;
    const support = start.allowed[surface] ?? null;
    return supportOfOthers(support, start.causes[surface] ?? [], drill.key, today, pack.rules);
  }
  const at = (key) => ({ start: startOf(child, key, lines), turns: turnsAt(key) });
  return withHandsAllowed(allowedNow(drill.key, surface, at, today, pack.rules), child, lines);
}

/* Nothing at all where hands are asked for and there is no yes to them, or not tonight. */
function withHandsAllowed(allowed, child, lines) {
  if (allowed.support === null || allowed.support < LIGHT_TOUCH) return allowed;
  if (child.no_consent) return { ...allowed, support: null, causes: ["no-consent"] };
  if (noHandsTonight(child, lines).length) return { ...allowed, support: null, causes: ["no-hands"] };
  return allowed;
}

/* Of a drill of which support is not logged, or that is closed. */
function supportOfOthers(support, causes, drill, today, rules) {
  if (support === null) return { support, causes, falls: [] };
  const own = today.filter((turn) => turn.drill === drill);
  if (isFinished(own, rules)) return { support: null, causes: ["finished-tonight"], falls: [] };
  if (endsTonight(drill, today, rules)) return { support: null, causes: ["nothing-backward"], falls: [] };
  return { support, causes, falls: [] };
}

/* The unstruck turns of today at all drills, oldest first, as countedTurns, each with its drill. */
function turnsOfDay(pack, child, lines) {
  const { turns } = indexOf(lines);
  return Object.keys(child.drills)
    .filter((drill) => child.drills[drill].today.length > 0 || turns.has(`${child.id} ${drill}`))
    .flatMap((drill) => countedTurns(pack, child, drill, lines).map((turn) => ({ ...turn, drill })))
    .sort(byTime);
}

/* What the day began with at a drill; told since that the child grows fast, with that. */
function startOf(child, key, lines) {
  const start = entryOf(child, key)?.start;
  const grows = start?.growing === false && isGrowing(child, lines);
  return grows ? { ...start, growing: true } : start;
}

/* Of a drill that is left out for what hurt before: what it allows once that is gone. While it is
   not, the drill is barred. */
function entryOf(child, key) {
  const entry = child.drills[key];
  return entry?.when_gone ? { ...entry, ...entry.when_gone } : entry;
}

function isBarred(pack, child, drill, lines) {
  const loads = new Set(["everything", ...(pack.rules.loads[drill.key] ?? [])]);
  const asked = askedAbout(child, lines).map(({ place }) => place);
  const bars = [...painsToday(child, lines), ...asked].flatMap((place) => pack.rules.bars[place] ?? []);
  return bars.some((part) => loads.has(part));
}

/* The support that the next turn is logged with: {amount, allowed, less}. "less" is the reason
   code when it is less than allowed. A choice ends when more is asked for than it gives. */
export function plannedSupport(pack, child, drill, surface, lines, choices) {
  const { support } = supportNow(pack, child, drill, surface, lines);
  return planSupport(support, child, drill, surface, choices);
}

/* The same, where it is known what is allowed. */
export function planSupport(allowed, child, drill, surface, choices) {
  if (!drill.support_logged) return { amount: 0, allowed: null, less: null };
  const least = allowed ?? HANDS_ON;
  const choice = choices.get(choiceKey(child, drill, surface));
  if (choice && (choice.amount >= least || choice.under === least)) {
    const less = choice.amount < least ? choice.less : null;
    return { amount: choice.amount, allowed, less };
  }
  return { amount: least, allowed, less: null };
}

export function choiceKey(child, drill, surface) {
  return [child.id, drill.key, surface].join(" ");
}

function byTime(one, other) {
  const difference = doneAt(one) - doneAt(other);
  if (difference) return difference;
  return one.id < other.id ? -1 : 1;
}

function later(one, other) {
  return byTime(one, other) < 0 ? other : one;
}

/* A line carries the tablet's clock, and how far the server's is ahead of it if that is known. */
function doneAt({ at, offset }) {
  return Date.parse(at) + (offset ?? 0);
}
