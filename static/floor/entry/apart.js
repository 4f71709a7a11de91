/* A child at another drill than the line: sent there to mend a fault, and back in one tap. It is this
   tablet's alone; the turns there are turns like any other. */

import { drillKeyFor } from "../rules/next_drill.js";
import { drillOf } from "../rules/reading.js";
import { uuid7 } from "../sending/uuid7.js";
import { changed, state } from "../state.js";
import { closeDraft } from "./actions.js";
import { saveChoices } from "./chosen.js";

/* The drill at which a child is now. */
export function drillFor({ id }) {
  return drillOf(state.pack, drillKeyFor(id, state.apart, state.drill));
}

/* Are all of these children at this drill? */
export function areAt(ids, drill) {
  return ids.every((id) => drillKeyFor(id, state.apart, state.drill) === drill);
}

export function isWithLine({ id }) {
  return areAt([id], state.drill);
}

/* "key": null for back to the line. */
export function sendTo(child, key) {
  closeDraft();
  state.apart.set(child.id, { drill: key, since: uuid7() });
  saveChoices();
  changed();
}
