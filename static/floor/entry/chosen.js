/* What was chosen on this tablet, kept for a reload during the same class: drill, surface, support,
   children, who is at another drill, and what is followed of the stations. */

import { drillsFor } from "../rules/reading.js";
import { meeting, state } from "../state.js";

const MOST_IN_STRIP = 10;

export function saveChoices() {
  const { drill, surface, strip, supportChoices, order, lineSince } = state;
  const station = state.station && [...state.station];
  const [given, apart] = [[...supportChoices], [...state.apart]];
  const { rotation, lead, offPlan } = state;
  const followed = { rotation, lead, offPlan };
  const chosen = { meeting, drill, surface, strip, given, station, order, apart, lineSince, ...followed };
  state.store.setFact("choices", chosen);
}

/* What was chosen before a reload, else what was used last. */
export async function restoreChoices() {
  const { pack } = state;
  const drills = drillsFor(pack).map((drill) => drill.key);
  const stored = await state.store.fact("choices");
  const choices = stored?.meeting === meeting ? stored : {};
  const recent = [...new Set([...(choices.strip ?? []), ...pack.recent, ...drills])];
  state.strip = recent.filter((key) => drills.includes(key)).slice(0, MOST_IN_STRIP);
  state.drill = drills.includes(choices.drill) ? choices.drill : (state.strip[0] ?? null);
  const surfaces = pack.surfaces.map((surface) => surface.key);
  const surface = choices.surface ?? pack.surface;
  state.surface = surfaces.includes(surface) ? surface : null;
  state.supportChoices = new Map(choices.given ?? []);
  state.station = choices.station ? new Set(choices.station) : null;
  state.order = choices.order ?? null;
  state.rotation = choices.rotation ?? null;
  state.lead = choices.lead ?? null;
  state.offPlan = choices.offPlan ?? false;
  if (state.drill === choices.drill) restoreApart(choices, drills);
}

/* Whoever is signed in now may not log at each drill. */
function restoreApart({ apart = [], lineSince = "" }, drills) {
  state.apart = new Map(apart.filter(([, { drill }]) => drill === null || drills.includes(drill)));
  state.lineSince = lineSince;
}
