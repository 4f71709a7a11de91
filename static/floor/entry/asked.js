/* What hurt on an earlier day: gone, or still there? Each question with its two answers. */

import { painName } from "../drawing/code_names.js";
import { button, make } from "../drawing/dom.js";
import { say } from "../drawing/words.js";
import { askedAbout } from "../rules/reading.js";
import { lines, reportGone, reportPain } from "./actions.js";

/* One element a place; "then" is called after an answer. */
export function questionsAbout(child, then = () => {}) {
  const answer = (report, place) => async () => {
    await report(child, place);
    then();
  };
  return askedAbout(child, lines()).map(({ place, says }) => {
    const values = { place: painName(place) };
    return make(
      "div",
      { class: "asked" },
      make("p", {}, says),
      make(
        "div",
        { class: "options" },
        button("btn", answer(reportGone, place), say("gone", values)),
        button("btn heed", answer(reportPain, place), say("still-there", values)),
      ),
    );
  });
}
