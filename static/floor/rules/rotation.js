/* The stations that were taken for the evening, and the rotation that is on. Pure functions.

   A station: {key, drill, spotters, children, adults}; children: ids, adults: [{id, name}]. */

import { byTime, doneAt, indexOf } from "./line_index.js";
import { drillOf, isPresent, presentChildren, supportNow } from "./reading.js";

const MINUTE = 60_000;

/* {minutes, rotations, begun}, or null. Of a class that is over none is followed. */
export function planToFollow(pack) {
  return pack.over ? null : (pack.stations ?? null);
}

/* "ahead", everywhere here: how far the server's clock is ahead of this one, in ms, by the pack. A tap
   that did not know it yet has this tablet's time. */
function begunAt(begun, ahead) {
  const isServers = begun.page === undefined || begun.offset !== undefined;
  return doneAt(begun) + (isServers ? 0 : ahead);
}

/* The number of the rotation that was begun last, which may be one after the last, and by what; 0
   for none. */
export function begunLast(pack, lines, ahead) {
  const known = pack.stations?.begun ? [pack.stations.begun] : [];
  const taps = indexOf(lines).reports.get("rotation undefined") ?? [];
  const latest = (one, other) =>
    one.page && one.page === other.page ? byTime(one, other) : begunAt(one, ahead) - begunAt(other, ahead);
  const begun = [...known, ...taps].sort(latest).at(-1) ?? null;
  return { number: begun?.number ?? 0, begun };
}

/* {id, page, number, stations}, or null before the first and after the last; "page": on which page
   of this tablet it was tapped. */
export function rotationNow(pack, lines, ahead) {
  const plan = planToFollow(pack);
  if (plan === null) return null;
  const { number, begun } = begunLast(pack, lines, ahead);
  const stations = plan.rotations[number - 1];
  return stations ? { id: begun.id, page: begun.page, number, stations } : null;
}

/* Whole minutes that are left of it, rounded up; 0 and less: it is over. */
export function minutesLeft(begun, minutes, now, ahead) {
  const since = now + ahead - begunAt(begun, ahead);
  return Math.ceil((minutes * MINUTE - since) / MINUTE);
}

export function stationOf(stations, id) {
  return stations.find(({ children }) => children.includes(id)) ?? null;
}

/* "lead": the key of a station that was chosen, "" for the whole room, null for the one at which this
   person has a post. Null: the whole room. */
export function lineOf(stations, lead, me) {
  if (lead === null) return stations.find(({ adults }) => adults.some(({ id }) => id === me)) ?? null;
  return stations.find(({ key }) => key === lead) ?? null;
}

/* Not while a child is away, hurts or is paused, nor where tonight's turns or the hall have closed the
   drill. Before a surface is chosen: by the softest. */
export function isAtStation(pack, child, station, surface, lines) {
  const drill = drillOf(pack, station.drill);
  if (!drill || isPresent(child, lines) !== true) return false;
  return supportNow(pack, child, drill, surface ?? pack.surfaces[0].key, lines).support !== null;
}

/* The children who are here and at no station now. */
export function withoutStation(pack, stations, surface, lines) {
  return presentChildren(pack, lines).filter((child) => {
    const station = stationOf(stations, child.id);
    return station === null || !isAtStation(pack, child, station, surface, lines);
  });
}
