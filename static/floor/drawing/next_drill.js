/* At the lower end of a tile: the drill that mends a fault that came back, in one tap; and for a
   child who is at it, the way back to the line's. */

import { isWithLine, lineKeyFor, sendTo } from "../entry/apart.js";
import { oncePerGesture } from "../entry/taps.js";
import { nextDrill } from "../rules/next_drill.js";
import { state } from "../state.js";
import { drillName } from "./code_names.js";
import { button, hiddenText, make, refill, setHidden } from "./dom.js";
import { say } from "./words.js";

// Another tablet's turn may bring it to a tile under a finger: it does nothing for so long then, in
// milliseconds.
const UNMEANT = 400;

export function makeNext(tile) {
  tile.nextAt = -Infinity;
  const go = () => {
    if (performance.now() - tile.nextAt > UNMEANT) sendTo(tile.child, tile.next.to);
  };
  const element = button("tile-next", oncePerGesture(go));
  element.hidden = true;
  return element;
}

/* {to, words, why}, or null; "to": the key of the drill, null for the way back. */
export function nextFor(child, drill, now) {
  const { pack, surface, apart, lineSince } = state;
  if (!isWithLine(child)) {
    return { to: null, words: say("drill-again", { drill: drillName(lineKeyFor(child.id)) }), why: child.name };
  }
  const next = nextDrill(pack, child, drill, surface, now, apart.get(child.id)?.since ?? lineSince);
  if (!next) return null;
  const why = say("next-why", { name: child.name, fault: next.fault.sees });
  return { to: next.drill.key, words: say("drill-next", { drill: next.drill.name }), why };
}

export function drawNext(tile, next) {
  const element = tile.nextButton;
  // Not at the first drawing of the tile.
  if (next && tile.next === null) tile.nextAt = performance.now();
  tile.next = next;
  if (!next && document.activeElement === element) tile.main.focus();
  setHidden(element, next === null);
  if (!next) return;
  element.classList.toggle("back", next.to === null);
  refill(element, make("span", {}, next.words), hiddenText(next.why));
}
