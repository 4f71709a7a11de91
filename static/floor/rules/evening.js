/* The whole evening of a class: its turns, what families are still to be told. Pure functions. */

import { indexOf } from "./line_index.js";
import {
  askedAbout,
  familyTold,
  fellToday,
  hasStop,
  isNotBegun,
  isPresent,
  painsToday,
  turnsToday,
} from "./reading.js";

export const FALL = "fall";
export const STOP_SIGN = "stop-sign";
export const HANDS_AGAIN = "hands-again";
const HEAD_TOUCHES = "head-touches";

/* All unstruck turns of this class tonight, of whoever logged them, newest first. */
export function turnsTonight(pack, lines) {
  const found = [];
  for (const child of pack.children) {
    for (const drill of pack.drills) {
      for (const turn of turnsToday(child, drill.key, lines)) {
        // A child may have been at another class of the day as well.
        if (turn.here !== false) found.push({ child, drill, turn });
      }
    }
  }
  return found.sort((one, other) => Date.parse(other.turn.at) - Date.parse(one.turn.at));
}

/* How many turns children had tonight: a function of a child's id, {all, of(drill)}, counted when it
   is asked. Who stopped before the turn began had none. */
export function turnCounts(pack, lines) {
  const { struck, children } = indexOf(lines);
  const counts = new Map();
  const count = (id) => {
    const child = pack.children.find((one) => one.id === id);
    if (!child) return countByDrill([]);
    const known = Object.entries(child.drills).flatMap(([drill, { today }]) =>
      today.map((turn) => ({ ...turn, drill })),
    );
    const logged = (children.get(id) ?? []).filter(({ kind }) => kind === "turn");
    const turns = new Map([...known, ...logged].map((turn) => [turn.id, turn]));
    return countByDrill([...turns.values()].filter((turn) => !struck.has(turn.id) && !isNotBegun(pack, turn)));
  };
  return (id) => {
    if (!counts.has(id)) counts.set(id, count(id));
    return counts.get(id);
  };
}

function countByDrill(turns) {
  return { all: turns.length, of: (key) => turns.filter(({ drill }) => drill === key).length };
}

/* The ids of the turns that one's own latest tap logged, of those that are not taken back: one turn,
   or a whole line, whose turns are of one drill and one moment. */
export function lastTap(pack, lines) {
  const own = turnsTonight(pack, lines).filter(({ turn }) => turn.mine);
  const [last] = own;
  return own
    .filter(({ drill, turn }) => drill.key === last.drill.key && Date.parse(turn.at) === Date.parse(last.turn.at))
    .map(({ turn }) => turn.id);
}

/* The turns tonight with a stop sign, oldest first. */
export function stopSignsTonight(pack, lines) {
  const before = new Map();
  const found = [];
  for (const each of turnsTonight(pack, lines).reverse()) {
    const at = `${each.child.id} ${each.drill.key}`;
    const earlier = before.get(at) ?? [];
    before.set(at, [...earlier, each.turn]);
    if (hasStop(pack, { ...each.turn, drill: each.drill.key }, earlier)) found.push(each);
  }
  return found;
}

/* What the families are to be told of tonight, the head and the neck first: [{child, what, pauses}];
   "pauses": until a clinician clears the child. */
export function toTell(pack, lines) {
  const stopped = new Set(stopSignsTonight(pack, lines).map(({ child }) => child.id));
  const pausing = new Set(pack.pain.filter((pain) => pain.pause).map((pain) => pain.place));
  const found = pack.children.flatMap((child) => {
    const told = new Set(familyTold(pack, child, lines).map((each) => each.what));
    const pains = painsToday(child, lines);
    // Who is told what hurts is told of the fall.
    const fall = pains.length === 0 && fellToday(child, lines).length > 0 ? [FALL] : [];
    const about = [...pains, ...fall, ...(stopped.has(child.id) ? [STOP_SIGN] : [])];
    return about.filter((what) => !told.has(what)).map((what) => ({ child, what, pauses: pausing.has(what) }));
  });
  return found.sort((one, other) => other.pauses - one.pauses);
}

/* Something happened that is written down at the desk: a fall, a head or a neck, a catch. */
export function hasHappened(pack, lines) {
  const pausing = new Set(pack.pain.filter((pain) => pain.pause).map((pain) => pain.place));
  const hurt = (child) => painsToday(child, lines).some((place) => pausing.has(place));
  const isOne = ({ turn }) => turn.caught || turn.faults?.includes(HEAD_TOUCHES);
  return (
    pack.children.some((child) => fellToday(child, lines).length > 0 || hurt(child)) ||
    turnsTonight(pack, lines).some(isOne)
  );
}

/* Who of the families was told tonight, oldest first. */
export function toldTonight(pack, lines) {
  return pack.children
    .flatMap((child) => familyTold(pack, child, lines).map((told) => ({ child, told })))
    .sort((one, other) => Date.parse(one.told.at) - Date.parse(other.told.at));
}

/* Children here who were not asked yet about what hurt before; who had no turn; who was not here. */
export function leftOver(pack, lines) {
  const had = new Set(turnsTonight(pack, lines).map(({ child }) => child.id));
  const here = pack.children.filter((child) => isPresent(child, lines) === true);
  return {
    unasked: here.filter((child) => askedAbout(child, lines).length > 0),
    noTurn: here.filter((child) => !had.has(child.id)),
    notHere: pack.children.filter((child) => isPresent(child, lines) !== true && !had.has(child.id)),
  };
}

/* Who said last that the class is over, and when: {at, by}, or null. */
export function classOver(pack, lines) {
  const said = lines.filter((line) => line.kind === "class-over").map(({ at }) => ({ at, by: pack.me.name }));
  return said.at(-1) ?? pack.class_over ?? null;
}
