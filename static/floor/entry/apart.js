/* At which drill each child is: the line's, that of a station in this rotation, or another, sent there to
   mend a fault and back in one tap. It is this tablet's alone; the turns there are turns like any
   other. */

import { drillKeyFor } from "../rules/next_drill.js";
import { drillOf, drillsFor } from "../rules/reading.js";
import { stationOf } from "../rules/rotation.js";
import { uuid7 } from "../sending/uuid7.js";
import { changed, state } from "../state.js";
import { closeDraft } from "./actions.js";
import { saveChoices } from "./chosen.js";

/* The key of the drill from which a child is sent, and to which it comes back: the station's, where
   whoever is signed in may log there. */
export function lineKeyFor(id) {
  const station = state.offPlan ? null : stationOf(state.rotation?.stations ?? [], id);
  const mayLog = station && drillsFor(state.pack).some(({ key }) => key === station.drill);
  return mayLog ? station.drill : state.drill;
}

function keyFor(id) {
  return drillKeyFor(id, state.apart, lineKeyFor(id));
}

/* The drill at which a child is now. */
export function drillFor({ id }) {
  return drillOf(state.pack, keyFor(id));
}

/* Are all of these children at this drill? */
export function areAt(ids, drill) {
  return ids.every((id) => keyFor(id) === drill);
}

/* Not sent to another drill. */
export function isWithLine({ id }) {
  return areAt([id], lineKeyFor(id));
}

/* "key": null for back to the line. */
export function sendTo(child, key) {
  closeDraft();
  state.apart.set(child.id, { drill: key, since: uuid7() });
  saveChoices();
  changed();
}
