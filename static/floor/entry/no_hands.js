/* "No hands tonight": the child's own word, one tap, no reason asked; and taking it back. */

import { button, make } from "../drawing/dom.js";
import { say } from "../drawing/words.js";
import { noHandsTonight } from "../rules/reading.js";
import { lines, recordNoHands, takeBackNoHands } from "./actions.js";

/* "then" is called after the tap. */
export function handsSection(child, then) {
  const said = noHandsTonight(child, lines());
  const tap = async () => {
    await (said.length ? takeBackNoHands(said) : recordNoHands(child));
    then();
  };
  return make(
    "section",
    { class: "asked" },
    said.length ? make("p", {}, say("no-hands-said", { name: child.name })) : null,
    make("div", { class: "options" }, button("btn", tap, say(said.length ? "no-hands-back" : "no-hands"))),
  );
}
