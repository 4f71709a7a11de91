/* Before class, in half a minute: what whoever takes it should know of the children. The
   sentences came with the pack, so they are here without a network as well. */

import { lines } from "../entry/actions.js";
import { questionsAbout } from "../entry/asked.js";
import { matsSection } from "../entry/hall.js";
import { missingOfHall } from "../entry/sheets.js";
import { brokenMats, matsLookedAt } from "../rules/hall.js";
import { askedAbout, isPaused, isPresent, painsToday, presentChildren } from "../rules/reading.js";
import { heldHere, nobodySpots, roomNow } from "../rules/room.js";
import { changed, state } from "../state.js";
import { childName, drillName, painName } from "./code_names.js";
import { byId, fillWith, make } from "./dom.js";
import { gate } from "./symbols.js";
import { joinList, say, sayCode, sayCount } from "./words.js";

// Headings that stand beside a sign; the others have words alone.
const SIGNS = { paused: "paused", "re-check": "re-check", near: "for-review" };

let drawn = "";

export function prepareBeforeClass() {
  byId("before-done").addEventListener("click", () => {
    state.view = presentChildren(state.pack, lines()).length ? "floor" : "roll";
    changed();
  });
}

export function drawBeforeClass() {
  const { before, meeting } = state.pack;
  const here = presentChildren(state.pack, lines());
  const asked = state.pack.children.map((child) => [askedAbout(child, lines()), isPaused(state.pack, child, lines())]);
  const mats = [matsLookedAt(state.pack, lines()), ...brokenMats(state.pack, lines())];
  const content = JSON.stringify([mats, before, meeting.adults, here.map((child) => child.id), asked]);
  if (content === drawn) return;
  drawn = content;
  byId("before-adults").textContent = adultsSentence(here);
  const spotters = spotterSentences(here.length ? here : state.pack.children);
  byId("before-none").hidden = before.length > 0;
  const missing = missingOfHall().map((sentence) => make("p", {}, sentence));
  const about = spotters.map((sentence) => make("p", {}, sentence));
  fillWith(byId("before-hall"), missing, about, matsSection(changed));
  fillWith(byId("before-list"), before.map(drawHeading));
  byId("before-done").textContent = say(here.length ? "to-the-floor" : "to-the-roll");
}

/* How many children there are to an adult: to one who watches, where somebody here is held. Once
   somebody is marked here, of those here; before that, of the whole class. */
function adultsSentence(here) {
  const { spotters, meeting } = state.pack;
  const children = here.length ? here : state.pack.children;
  const counted = sayCount("children-count", children.length);
  if (meeting.adults === 0) return say("no-adults", { children: counted });
  if (spotters && children.length) {
    const room = roomNow(state.pack, children);
    if (room.alone) return say("spots-alone", { children: counted });
    if (room.watching && heldHere(state.pack, children).length) {
      const assistants = sayCount("assistants-count", meeting.adults - spotters.coaches);
      const adults = sayCount("adults-count", spotters.coaches);
      return say("each-to-an-adult", { children: counted, adults, assistants, each: room.each });
    }
  }
  return say("children-per-adult", {
    children: counted,
    adults: sayCount("adults-count", meeting.adults),
    each: Math.ceil(children.length / meeting.adults),
  });
}

/* Too many to an adult, and what nobody here may spot. */
function spotterSentences(here) {
  const { spotters } = state.pack;
  if (!spotters || !here.length) return [];
  const room = roomNow(state.pack, here);
  const said = [];
  if (room.tooMany) said.push(say("too-many-each", { most: room.most }));
  if (spotters.none === null) said.push(say("no-training"));
  const nobody = nobodySpots(state.pack, here).map((key) => say("nobody-spots", { drill: drillName(key) }));
  return [...said, ...nobody, ...spotters.lapsed];
}

/* What hurt on an earlier day, with the answers; once all is answered, what came of it. */
function drawQuestions(child) {
  const questions = questionsAbout(child);
  if (questions.length) return questions;
  if (isPaused(state.pack, child, lines())) return [` ${say("paused")}.`];
  const still = painsToday(child, lines());
  return [` ${still.length ? say("hurts", { places: joinList(still.map(painName)) }) : say("all-gone")}.`];
}

function drawHeading({ about, children }) {
  const sign = SIGNS[about] ? gate(SIGNS[about]) : null;
  const rows = children.map(({ id, says }) => {
    const child = state.pack.children.find((one) => one.id === id);
    const away = child !== undefined && isPresent(child, lines()) === false;
    return make(
      "li",
      {},
      make("strong", {}, childName(id)),
      ...(child?.asked?.length && about === "hurt" ? drawQuestions(child) : [` ${says}`]),
      away ? make("span", { class: "soft" }, ` ${say("not-here")}.`) : null,
    );
  });
  return make(
    "section",
    { class: "before-part", "data-about": about },
    make("h3", {}, sign, make("span", {}, sayCode("before", about))),
    make("ul", {}, rows),
  );
}
