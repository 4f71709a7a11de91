/* Something hurts: who, where, and what follows from it. */

import { button, make } from "../drawing/dom.js";
import { fill, say, sayCode } from "../drawing/words.js";
import * as reading from "../rules/reading.js";
import { state } from "../state.js";
import { lines, reportPain } from "./actions.js";
import { showTurns } from "./put_right.js";
import { choices, emergency, openSheet } from "./sheets.js";
import { toldSection } from "./told.js";

/* Who, and where: two taps; one where it is known who. */
export function openPainSheet(known = null) {
  const here = reading.presentChildren(state.pack, lines());
  let child = known;
  const places = state.pack.pain.map((pain) =>
    button(
      "btn",
      () => {
        reportPain(child, pain.place);
        showPainAdvice(child, pain);
      },
      pain.name,
    ),
  );
  const children = here.map((one) =>
    button(
      "btn",
      (event) => {
        child = one;
        for (const other of children) other.setAttribute("aria-pressed", other === event.currentTarget);
        for (const place of places) place.disabled = false;
        where.scrollIntoView({ block: "nearest" });
      },
      one.name,
    ),
  );
  for (const place of places) place.disabled = !known;
  here.forEach((one, at) => {
    children[at].setAttribute("aria-pressed", one.id === known?.id);
  });
  const where = make("section", {}, make("h3", {}, say("where")), choices("", places));
  openSheet(
    say("something-hurts"),
    make(
      "div",
      { class: "hurt" },
      make("section", {}, make("h3", {}, say("who")), choices("children", children)),
      where,
    ),
  );
}

function showPainAdvice(child, pain) {
  const name = child.name;
  const sentences = [say("hurt-kept", { name, place: pain.name })];
  sentences.push(pain.pause ? fill(sayCode("reasons", "paused"), { child: name }) : say("hurt-rest", { name }));
  if (pain.place === "head") sentences.push(say("head-bump"), say("clinician"));
  if (pain.pause) sentences.push(...emergency());
  openSheet(
    say("something-hurts"),
    sentences.map((sentence) => make("p", { class: "big" }, sentence)),
    toldSection(child, () => showPainAdvice(child, pain)),
    choices(
      "",
      button("btn", () => showTurns(), say("wrong-entry")),
    ),
  );
}
