/* Before class, in half a minute: what whoever takes it should know of the children. The
   sentences came with the pack, so they are here without a network as well. */

import { lines } from "../entry/actions.js";
import { questionsAbout } from "../entry/asked.js";
import { missingOfHall } from "../entry/sheets.js";
import { askedAbout, isPaused, isPresent, painsToday, presentChildren } from "../rules/reading.js";
import { changed, state } from "../state.js";
import { childName, painName } from "./code_names.js";
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
  const content = JSON.stringify([before, meeting.adults, here.map((child) => child.id), asked]);
  if (content === drawn) return;
  drawn = content;
  byId("before-adults").textContent = adultsSentence(here, meeting.adults);
  byId("before-none").hidden = before.length > 0;
  fillWith(
    byId("before-hall"),
    missingOfHall().map((sentence) => make("p", {}, sentence)),
  );
  fillWith(byId("before-list"), before.map(drawHeading));
  byId("before-done").textContent = say(here.length ? "to-the-floor" : "to-the-roll");
}

/* Once somebody is marked here, of those here; before that, of the whole class. */
function adultsSentence(here, adults) {
  const children = here.length || state.pack.children.length;
  const counted = sayCount("children-count", children);
  if (adults === 0) return say("no-adults", { children: counted });
  return say("children-per-adult", {
    children: counted,
    adults: sayCount("adults-count", adults),
    each: Math.ceil(children / adults),
  });
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
