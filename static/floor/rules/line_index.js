/* Lines by what they are about, and in the order in which they were done. Pure functions. */

// Of one list of lines: what was struck, turns by child and drill, the others by child.
const indexes = new WeakMap();

export function indexOf(lines) {
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

/* Taps on one page by its monotonic clock, whatever the tablet's other clock did meanwhile. */
export function byTime(one, other) {
  if (one.page && one.page === other.page && one.mono !== other.mono) return one.mono - other.mono;
  const difference = doneAt(one) - doneAt(other);
  if (difference) return difference;
  return one.id < other.id ? -1 : 1;
}

export function later(one, other) {
  return byTime(one, other) < 0 ? other : one;
}

/* A line carries the tablet's clock, and how far the server's is ahead of it if that is known. */
export function doneAt({ at, offset }) {
  return Date.parse(at) + (offset ?? 0);
}
