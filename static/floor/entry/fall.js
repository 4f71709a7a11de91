/* After a fall: what to do and whom to call, then who it was, a pause with one tap after a head, a
   neck or a back, and who of the family was told. All of it works without a network. */

import { button, make } from "../drawing/dom.js";
import { clockTime, fill, say, sayCode } from "../drawing/words.js";
import { doneAt } from "../rules/line_index.js";
import * as reading from "../rules/reading.js";
import { state } from "../state.js";
import { lines, reportFell, reportPain } from "./actions.js";
import { openPainSheet } from "./hurt.js";
import { showTurns } from "./put_right.js";
import { choices, emergency, openSheet } from "./sheets.js";
import { oncePerGesture } from "./taps.js";
import { toldSection } from "./told.js";

const CARD = ["door", "who_phones", "who_meets", "first_aid_kit", "defibrillator"];

function big(sentence) {
  return make("p", { class: "big" }, sentence);
}

/* What else the hall's emergency card says. A class that an older page kept has none. */
function cardOfHall() {
  const card = state.pack.meeting.card ?? {};
  return CARD.filter((field) => card[field]).map((field) => make("p", {}, say(`card-${field}`, { text: card[field] })));
}

/* On the button: the number to call, as far as it is known. */
export function fallWords() {
  const { emergency: number, emergency_confirmed: confirmed } = state.pack.meeting;
  const words = confirmed === false ? "fall-button-unconfirmed" : "fall-button";
  return number ? say(words, { number }) : say("fall-button-no-number");
}

export function showFall() {
  const here = reading.presentChildren(state.pack, lines());
  const whom = here.length ? here : state.pack.children;
  openSheet(
    say("after-a-fall"),
    emergency().map(big),
    cardOfHall(),
    make("h3", {}, say("who-fell")),
    choices(
      "children",
      whom.map((child) => button("btn", () => showFallOf(child), child.name)),
    ),
    redFlags(),
    make("p", {}, say("head-bump")),
    make("p", {}, say("clinician")),
    make("p", {}, say("caution")),
  );
}

/* One child: pause with one tap, or what else there is to write down. */
function showFallOf(child) {
  const paused = reading.isPaused(state.pack, child, lines());
  const places = state.pack.pain.filter((pain) => pain.pause);
  const pauses = places.map((pain) =>
    button(
      "btn heed",
      async () => {
        await reportPain(child, pain.place);
        showFallOf(child);
      },
      pain.name,
    ),
  );
  openSheet(
    say("fall-of", { name: child.name }),
    emergency().map(big),
    cardOfHall(),
    paused ? big(fill(sayCode("reasons", "paused"), { child: child.name })) : null,
    make("section", {}, make("h3", {}, say("fall-pause")), choices("children", pauses)),
    fellSection(child),
    redFlags(),
    toldSection(child, () => showFallOf(child)),
    choices(
      "",
      button("btn", () => openPainSheet(child), say("something-hurts")),
      button("btn", () => showTurns(), say("wrong-entry")),
    ),
    make("p", {}, say("clinician")),
  );
}

/* One tap writes it down, once; what is more is written at the desk. */
function fellSection(child) {
  const fell = reading.fellToday(child, lines()).at(-1);
  if (fell) return make("p", {}, say("fell-at", { name: child.name, time: clockTime(doneAt(fell)) }));
  const act = oncePerGesture(async () => {
    await reportFell(child);
    showFallOf(child);
  });
  return choices("", button("btn", act, say("fell-tap")));
}

/* For any of these the number is called at once. */
function redFlags() {
  const signs = say("red-flags").split("\n");
  return make(
    "section",
    {},
    make("h3", {}, say("red-flags-call")),
    make(
      "ul",
      { class: "reasons" },
      signs.map((sign) => make("li", {}, sign)),
    ),
  );
}
