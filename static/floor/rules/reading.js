/* What the page shows, worked out from the pack and from lines that are not in it yet: pure. */

import { readGate } from "./gate_now.js";
import { spotterGone } from "./hall.js";
import { byTime, doneAt, indexOf, later } from "./line_index.js";
import { allowedNow, endsTonight, isFinished, isNoTurn, isStopSign, stopSigns } from "./support_now.js";

const HANDS_ON = 3;
const LIGHT_TOUCH = 2;
const SOMEBODY_ELSE = -1;

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
  const { struck } = indexOf(lines);
  const statements = reportsOf(child, "here", lines).filter((line) => !struck.has(line.id));
  if (statements.length) return statements.reduce(later).present;
  return child.away && struck.has(child.away.id) ? null : child.present;
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

function reportsOf(child, kind, lines) {
  return indexOf(lines).reports.get(`${kind} ${child.id}`) ?? [];
}

/* The lines about a child, and those about no child, such as strikes: as long as these and the pack
   stay the same, so does everything that is worked out here. */
export function linesAbout(child, lines) {
  const { children } = indexOf(lines);
  return [...(children.get(undefined) ?? []), ...(children.get(child.id) ?? [])];
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

/* Places that hurt today: the pack's, and those reported since. */
export function painsToday(child, lines) {
  const { struck } = indexOf(lines);
  const isStruck = ({ id }) => struck.has(id);
  const known = child.hurts ?? [];
  const stays = (place) => known.some((each) => each.place === place && !isStruck(each));
  const gone = known.filter((each) => isStruck(each) && !stays(each.place)).map(({ place }) => place);
  const reports = reportsOf(child, "hurt", lines).filter((line) => !isStruck(line));
  const places = [...child.pains.filter((place) => !gone.includes(place)), ...reports.map((line) => line.place)];
  return [...new Set(places)];
}

/* The falls of today that nobody has taken back, the pack's and those since. */
export function fellToday(child, lines) {
  const { struck } = indexOf(lines);
  const found = new Map((child.fell ?? []).map((each) => [each.id, each]));
  for (const line of reportsOf(child, "fell", lines)) found.set(line.id, line);
  return [...found.values()].filter(({ id }) => !struck.has(id));
}

/* What this person wrote down in this class that is no turn and can be taken back, newest first:
   {child, id, kind, place, done}; "kind": "hurt", "here" (not here) or "fell"; "done": ms by the
   server's clock. */
export function ownReports(pack, lines) {
  const { struck } = indexOf(lines);
  const found = new Map();
  for (const child of pack.children) {
    const away = isPresent(child, lines) === false ? reportsOf(child, "here", lines).slice(-1) : [];
    const logged = [...reportsOf(child, "hurt", lines), ...away, ...reportsOf(child, "fell", lines)];
    const known = [...ownOf("hurt", child.hurts), ...ownOf("fell", child.fell)];
    if (child.away && away.length === 0) known.push({ kind: "here", ...child.away });
    for (const { id, kind, place, at, offset } of [...known, ...logged.filter(({ by }) => by === pack.me.id)]) {
      if (!struck.has(id)) found.set(id, { child, id, kind, place, done: doneAt({ at, offset }) });
    }
  }
  return [...found.values()].sort((one, other) => other.done - one.done);
}

function ownOf(kind, reports) {
  return (reports ?? []).filter(({ mine }) => mine).map((report) => ({ kind, ...report }));
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
  if (entry.open && isTooSoon(pack, child, drill)) return { support: null, causes: ["after-head"], falls: [] };
  if (entry.open && isBarred(pack, child, drill, lines)) {
    return { support: null, causes: ["pain"], falls: [] };
  }
  if (entry.open && pack.rules.spotted?.includes(drill.key)) {
    if (child.no_consent) return { support: null, causes: ["no-consent"], falls: [] };
    if (noHandsTonight(child, lines).length) return { support: null, causes: ["no-hands"], falls: [] };
  }
  const allowed = allowedByTurns(pack, child, drill, surface, lines);
  if (!isHeld(pack, drill, allowed) || !spotterGone(pack, lines)) return allowed;
  return { ...allowed, support: null, causes: ["no-spotter"] };
}

/* Somebody spots or stands by: what a child may do unspotted stays. */
function isHeld(pack, drill, { support }) {
  if (support === null) return false;
  return drill.support_logged ? support > 0 : pack.rules.spotted?.includes(drill.key);
}

/* By the drill and the day's turns at it. */
function allowedByTurns(pack, child, drill, surface, lines) {
  const entry = entryOf(child, drill.key);
  const today = turnsOfDay(pack, child, lines);
  const turnsAt = (key) => today.filter((turn) => turn.drill === key);
  if (!entry.start) {
    const start = entry.begins ?? entry;
    const support = start.allowed[surface] ?? null;
    return supportOfOthers(support, start.causes[surface] ?? [], drill.key, today, pack.rules);
  }
  const at = (key) => ({ start: startOf(child, key, lines), turns: turnsAt(key) });
  const allowed = allowedNow(drill.key, surface, at, today, pack.rules);
  return withHandsAllowed(pack.over ? ofOlderDay(allowed) : allowed, child, lines);
}

/* What a day allowed says nothing of a later one. */
function ofOlderDay({ support, causes, falls }) {
  if (support === null) return { support, causes, falls };
  return { support: HANDS_ON, causes: ["older-day"], falls };
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

/* On the way back after a head knock, and not far enough for this drill: what a pack does not say
   of a drill waits for the last step. */
function isTooSoon(pack, child, drill) {
  const step = child.head_step ?? null;
  return step !== null && step < (pack.rules.after_head?.[drill.key] ?? 6);
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
