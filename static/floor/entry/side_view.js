/* The way to angles from the side, from a drill's grades: there for whom a family has said yes, in a hall
   where a director has turned it on, on a tablet that is enrolled. */

import { button } from "../drawing/dom.js";
import { say } from "../drawing/words.js";
import { fetchMore } from "../on_demand.js";
import { state } from "../state.js";

/* Or null. "log" takes a grade and what is written down beside it; "close" closes the sheet. */
export function sideViewButton(child, drill, log, close) {
  const { side_view: on } = state.pack;
  if (!on || !child.pictures || !drill.rubric.picture || !navigator.mediaDevices) return null;
  const open = button(
    "btn",
    async () => {
      open.disabled = true;
      try {
        await fetchMore();
        const { openSideView } = await import("../eyes/side_view.js");
        close();
        openSideView({ child, drill, spread: on.spread, log });
      } catch {
        open.textContent = say("not-fetched");
      }
    },
    say("from-the-side"),
  );
  return open;
}
