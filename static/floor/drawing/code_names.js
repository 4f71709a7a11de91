/* Names for codes, from the pack. A code that is not in the pack is shown as it is. */

import { state } from "../state.js";

export function painName(place) {
  return state.pack?.pain.find((pain) => pain.place === place)?.name ?? place;
}

export function supportName(amount) {
  return state.pack?.supports.find((support) => support.amount === amount)?.name ?? String(amount);
}

export function surfaceName(key) {
  return state.pack?.surfaces.find((surface) => surface.key === key)?.name ?? key;
}

export function drillName(key) {
  return state.pack?.drills.find((drill) => drill.key === key)?.name ?? key;
}

export function childName(id) {
  return state.pack?.children.find((child) => child.id === id)?.name ?? id;
}
