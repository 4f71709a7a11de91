/* What the page shows, worked out from the pack and the lines that it does not hold yet.
   Pure functions: nothing is fetched, kept or drawn here. */

const HANDS_ON = 3;

export function drillOf(pack, key) {
  return pack.drills.find((drill) => drill.key === key) ?? null;
}

/* Grades are given by those who may grade; everything else by everybody. */
export function drillsFor(pack) {
  return pack.drills.filter((drill) => pack.me.grades || drill.measure !== "grade");
}

/* Lines that count on this page although the pack does not tell of them yet. */
export function linesHere(records, meeting) {
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

/* The latest statement stands; null if there is none. */
export function isPresent(child, lines) {
  const said = lines.filter((line) => line.kind === "here" && line.child === child.id);
  return said.length ? said.reduce(later).present : child.present;
}

/* The unstruck turns of today at a drill, oldest first: the pack's, and those of the lines. */
export function turnsToday(child, drill, lines) {
  const struck = new Set(lines.filter((line) => line.kind === "strike").map((line) => line.turn));
  const turns = new Map((child.drills[drill]?.today ?? []).map((turn) => [turn.id, turn]));
  for (const line of lines) {
    if (line.kind === "turn" && line.child === child.id && line.drill === drill) {
      turns.set(line.id, { ...line, mine: true, caught: line.caught ?? false });
    }
  }
  return [...turns.values()].filter((turn) => !struck.has(turn.id)).sort(byTime);
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

/* Places that hurt today, the pack's and those just written down. */
export function painsToday(child, lines) {
  const told = lines.filter((line) => line.kind === "hurt" && line.child === child.id);
  return [...new Set([...child.pains, ...told.map((line) => line.place)])];
}

export function isPaused(pack, child, lines) {
  const pausing = new Set(pack.pain.filter((pain) => pain.pause).map((pain) => pain.place));
  return child.paused || painsToday(child, lines).some((place) => pausing.has(place));
}

/* Is this fault, seen at this support, a stop sign? "before" are the day's earlier turns. */
export function isStop(fault, support, before) {
  if (fault.stop === "yes") return true;
  if (fault.stop === "unheld") return support <= 1;
  if (fault.stop === "second") return before.some((turn) => turn.faults?.includes(fault.key));
  return false;
}

export function hasStop(drill, turn, before) {
  if (turn.caught) return true;
  return drill.faults.some(
    (fault) => turn.faults?.includes(fault.key) && isStop(fault, turn.support, before),
  );
}

/* Codes that say why a child gets more support at a drill than usual, or none of it now. */
export function causesOf(child, drill, surface) {
  const entry = child.drills[drill.key];
  return entry ? (entry.causes[surface] ?? []) : ["closed"];
}

/* The least support to show for the next turn, or null: not this drill, not now. While a turn
   is not in the pack yet it never falls, and a stop sign asks for hands on at once. */
export function supportAllowed(child, drill, surface, lines) {
  const told = child.drills[drill.key]?.allowed[surface] ?? null;
  if (told === null || !drill.support_logged) return told;
  const turns = turnsToday(child, drill.key, lines);
  let least = told;
  for (const line of lines) {
    if (line.kind !== "turn" || line.child !== child.id || line.drill !== drill.key) continue;
    const at = turns.findIndex((turn) => turn.id === line.id);
    if (at < 0) continue;
    if (line.surface === surface) least = Math.max(least, line.allowed ?? 0);
    if (hasStop(drill, turns[at], turns.slice(0, at))) least = HANDS_ON;
  }
  return least;
}

/* The support that the next turn is logged with: {amount, allowed, less}. "less" is the reason
   code when it is less than allowed. A choice ends when more is asked for than it gives. */
export function supportPlanned(child, drill, surface, lines, given) {
  if (!drill.support_logged) return { amount: 0, allowed: null, less: null };
  const allowed = supportAllowed(child, drill, surface, lines);
  const least = allowed ?? HANDS_ON;
  const choice = given.get(choiceKey(child, drill, surface));
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
  const difference = Date.parse(one.at) - Date.parse(other.at);
  if (difference) return difference;
  return one.id < other.id ? -1 : 1;
}

function later(one, other) {
  return byTime(one, other) < 0 ? other : one;
}
