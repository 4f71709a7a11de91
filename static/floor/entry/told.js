/* Who of the family was told of a fall or a pain, and when: one tap, without a network as well. */

import { painName } from "../drawing/code_names.js";
import { button, make } from "../drawing/dom.js";
import { clockTime, say, sayCode } from "../drawing/words.js";
import { FALL, HANDS_AGAIN, STOP_SIGN } from "../rules/evening.js";
import * as reading from "../rules/reading.js";
import { state } from "../state.js";
import { lines, reportTold } from "./actions.js";

/* Of what the family was told. */
export function aboutName(what) {
  const others = { [FALL]: "a-fall", [STOP_SIGN]: "a-stop-sign", [HANDS_AGAIN]: "hands-again" };
  return what in others ? say(others[what]) : painName(what);
}

/* Who was told, and when; and a tap for whoever is told now. */
export function toldSection(child, then) {
  const pains = reading.painsToday(child, lines());
  const what = pains.at(-1) ?? FALL;
  const told = reading.familyTold(state.pack, child, lines()).map((each) => {
    const values = {
      time: clockTime(Date.parse(each.at)),
      about: aboutName(each.what),
      whom: sayCode("whom", each.whom),
    };
    return make("li", {}, say("told-at", values));
  });
  const tell = state.pack.whom.map((whom) =>
    button(
      "btn",
      async () => {
        await reportTold(child, what, whom);
        then();
      },
      sayCode("whom", whom),
    ),
  );
  return make(
    "section",
    {},
    make("h3", {}, say("who-was-told")),
    told.length ? make("ul", { class: "reasons" }, told) : null,
    make("div", { class: "options" }, tell),
  );
}
