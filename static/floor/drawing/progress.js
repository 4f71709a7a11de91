/* Where the gate stands that is shown at a drill, in a few words: on a tile, and on the hold clock. */

import * as reading from "../rules/reading.js";
import { state } from "../state.js";
import { formatNumber, percentOf, say, sayCount } from "./words.js";

// Where the notch is on the beam of a number: beyond it there is room for more.
const NUMBER_NOTCH = 0.8;

/* {lead, number, end, days, turns, value, need, met}, the last three for the beam; or null. */
export function progressOf(child, drill, now) {
  const gate = reading.progressNow(state.pack, child, drill, now);
  if (gate === null) return null;
  const { value, need, met, progress } = gate;
  if (gate.measure === "sure") {
    const end = met ? say("met") : say("of", { need: percentOf(need) });
    const number = say("percent", { n: percentOf(value) });
    const turns = gate.turns === null ? "" : sayCount("of-turns", gate.turns);
    return { lead: say("sure"), number, end, days: "", turns, value, need, met };
  }
  // Far enough, but not on enough days: "best 2 of 2 on 1 of 2 days".
  const isDays = !met && gate.days > 0;
  return {
    lead: isDays && value > need ? say("reached") : say(drill.measure === "clean" ? "clean" : "best"),
    number: formatNumber(isDays ? need : value),
    end: met ? say("met") : say("of", { need }),
    days: isDays ? say("on-days", gate) : "",
    value: progress * NUMBER_NOTCH,
    need: NUMBER_NOTCH,
    met,
  };
}

/* "best 12 of 15". */
export function progressWords({ lead, number, end }) {
  return [lead, number, end].join(" ");
}
