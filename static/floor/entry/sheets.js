/* The sheets over the tiles, one at a time. */

import { supportName } from "../drawing/code_names.js";
import { button, byId, fillWith, make } from "../drawing/dom.js";
import { drawCard } from "../drawing/drill_card.js";
import { drawPoses } from "../drawing/poses.js";
import * as drawings from "../drawing/symbols.js";
import { fill, formatNumber, percentOf, say, sayCode } from "../drawing/words.js";
import { spotterGone } from "../rules/hall.js";
import * as reading from "../rules/reading.js";
import { changed, state } from "../state.js";
import { chooseDrill, chooseSupport, lines, logTurn, reportGrowing } from "./actions.js";
import { drillFor } from "./apart.js";
import { questionsAbout } from "./asked.js";
import { handsSection } from "./no_hands.js";
import { readyNotes } from "./note.js";
import { closeEntry, keepOpen } from "./open_entry.js";
import { sideViewButton } from "./side_view.js";

const HANDS_ON = 3;
// Then no amount of support is offered: none of it may be given.
const NO_HANDS_CAUSES = ["no-consent", "no-hands", "no-spotter"];

// Children and drills for which "all the same" has been chosen on this page.
const confirmedUnusual = new Set();

export function prepareSheet() {
  byId("sheet-close").addEventListener("click", closeSheet);
}

export function openSheet(title, ...content) {
  const sheet = byId("sheet");
  closeEntry();
  byId("sheet-title").textContent = title;
  fillWith(byId("sheet-body"), ...content);
  if (!sheet.open) sheet.showModal();
  byId("sheet-body").scrollTop = 0;
}

export function closeSheet() {
  byId("sheet").close();
}

/* A button that does one thing and closes the sheet. */
export function choice(className, act, ...content) {
  return button(
    `btn ${className}`,
    () => {
      closeSheet();
      act();
    },
    ...content,
  );
}

export function choices(className, ...buttons) {
  return make("div", { class: `options ${className}` }, ...buttons);
}

export function openDrills() {
  const drills = reading.drillsFor(state.pack);
  const groups = state.pack.strands.map((strand) => {
    const own = drills.filter((drill) => drill.strand === strand.key);
    if (own.length === 0) return null;
    return make("section", {}, make("h3", {}, strand.name), choices("drills", own.map(drillChoice)));
  });
  openSheet(say("all-drills"), groups);
}

export function showCard(drill) {
  openSheet(drill.name, drawCard(drill));
}

function drillChoice(drill) {
  const chosen = drill.key === state.drill;
  const option = choice("two", () => chooseDrill(drill.key), drill.name, measureOf(drill));
  option.setAttribute("aria-pressed", chosen);
  const card = button("btn card-open", () => showCard(drill), "?");
  card.setAttribute("aria-label", say("card-of", { drill: drill.name }));
  return make("div", { class: "drill-choice" }, option, card);
}

export function measureOf(drill) {
  return make("small", {}, sayCode("measures", drill.measure));
}

/* For a child who may not do this drill now: why, and what is asked. A turn that has happened is a
   fact: it can be written down, with the help there was, and the director sees it. */
export function confirmUnusual(child, drill, act) {
  // Asked again once the spotter has gone.
  const now = lines();
  const key = [child.id, drill.key, spotterGone(state.pack, now)?.id].join(" ");
  const paused = reading.isPaused(state.pack, child, now);
  const { support: allowed } = supportFor(child, drill, now);
  if ((allowed !== null && !paused) || confirmedUnusual.has(key)) {
    act();
    return;
  }
  const writeDown = () => {
    confirmedUnusual.add(key);
    act();
  };
  openSheet(
    say("about", { name: child.name, drill: drill.name }),
    make("p", { class: "big" }, say("not-now")),
    listElement(reasonsFor(child, drill)),
    questionsAbout(child, closeSheet),
    choices(
      "",
      button(
        "btn",
        () => {
          if (drill.support_logged) openHelpThere(child, drill, writeDown);
          else {
            closeSheet();
            writeDown();
          }
        },
        say("has-happened"),
      ),
    ),
  );
}

/* With how much help a turn was done that should not have been. */
function openHelpThere(child, drill, writeDown) {
  const options = state.pack.supports.map(({ amount, name }) =>
    choice(
      "with-blocks",
      () => {
        chooseSupport(child, drill, amount, HANDS_ON);
        writeDown();
      },
      drawings.blocks(amount),
      make("span", {}, name),
    ),
  );
  openSheet(
    say("about", { name: child.name, drill: drill.name }),
    make("p", { class: "big" }, say("help-there")),
    make("p", {}, say("kept-and-told")),
    choices("", options),
  );
}

function supportFor(child, drill, now = lines()) {
  return reading.supportNow(state.pack, child, drill, state.surface, now);
}

/* Why this child gets more support at this drill, or none of it now, in sentences. */
/* "besides": causes that the sheet says in its own words. */
function reasonsFor(child, drill, besides = []) {
  const paused = reading.isPaused(state.pack, child, lines());
  const { causes: known, falls } = supportFor(child, drill);
  const causes = paused ? ["paused"] : new Set([...known, ...falls.map((fall) => fall.code)]);
  const told = [...causes].filter((cause) => !besides.includes(cause));
  return told.map((cause) => fill(sayCode("reasons", cause), { child: child.name }));
}

function listElement(sentences) {
  if (sentences.length === 0) return null;
  return make(
    "ul",
    { class: "reasons" },
    sentences.map((sentence) => make("li", {}, sentence)),
  );
}

export function openGrades(child, drill) {
  const drawn = drawPoses(drill.rubric);
  const log = (grade, more = {}) => logTurn(child, drill, { value: grade, ...more }, grade < drill.most);
  const options = drill.rubric.poses.map((pose, at) =>
    choice(
      "pose",
      () => log(pose.grade),
      drawn[at],
      make("strong", {}, say("grade-number", { n: pose.grade })),
      make("span", { class: "words" }, pose.words),
      pose.also ? make("span", { class: "also" }, pose.also) : null,
    ),
  );
  openSheet(
    say("grade-of", { name: child.name, drill: drill.name }),
    make("p", {}, drill.rubric.view),
    choices("poses", options),
    sideViewButton(child, drill, (grade, side) => log(grade, { side }), closeSheet),
  );
  keepOpen({ kind: "grade", child: child.id, drill: drill.key });
}

export function openChildren() {
  const here = reading.presentChildren(state.pack, lines());
  const options = here.map((child) => button("btn", () => showChild(child), child.name));
  openSheet(say("about-whom"), choices("children", options));
}

/* One child at this drill: what is allowed and why, how sure the record is, and another support
   for the next turns. */
export function showChild(child) {
  const drill = drillFor(child);
  const progress = progressSentence(child, drill);
  openSheet(
    say("about", { name: child.name, drill: drill.name }),
    questionsAbout(child, () => showChild(child)),
    handsSection(child, () => showChild(child)),
    drill.support_logged && !saysNoToHands(child, drill) ? supportSection(child, drill) : null,
    // A pack that was kept from an earlier release has no such line.
    child.caution ? make("p", { class: "big" }, child.caution) : null,
    listElement([...reasonsFor(child, drill, ["no-hands"]), ...child.notes]),
    progress ? make("p", { class: "big" }, progress) : null,
    growingSection(child),
    readyNotes(child, null, closeSheet),
    make("p", {}, say("cues", { cues: drill.cues.join(" · ") })),
    choices(
      "",
      button("btn", () => showCard(drill), say("card")),
    ),
  );
}

/* For some weeks more help on first turns; a coach ends it on the child's page. */
function growingSection(child) {
  if (!state.pack.rules.grows) return null;
  if (reading.isGrowing(child, lines())) return make("p", {}, say("growing-told"));
  const tap = async () => {
    await reportGrowing(child);
    showChild(child);
  };
  return choices("", button("btn", tap, say("growing-tap")));
}

function saysNoToHands(child, drill) {
  return supportFor(child, drill).causes.some((cause) => NO_HANDS_CAUSES.includes(cause));
}

/* The server's sentence, while no turn counts that it did not know; else a shorter one. */
function progressSentence(child, drill) {
  const gate = reading.progressNow(state.pack, child, drill, lines());
  if (gate === null) return null;
  const entry = child.drills[drill.key];
  if (!gate.moved) return (entry.sure ?? entry.best).sentence;
  const met = gate.met ? ` ${say("moved-met")}` : "";
  if (gate.measure === "best") {
    const words = gate.days_need > 1 && !gate.met ? "moved-days" : "moved-best";
    return say(words, { ...gate, best: formatNumber(gate.best) }) + met;
  }
  const { clean: turns_need, days: days_need } = state.pack.rules.gates[entry.gate.code];
  const asked = { ...gate, turns_need, days_need };
  const sure = { sure: percentOf(gate.value), need: percentOf(gate.need) };
  return say("moved-sure", { ...asked, ...sure }) + met;
}

function supportSection(child, drill) {
  const { support: allowed } = supportFor(child, drill);
  if (allowed === null) return make("p", { class: "big" }, say("not-now"));
  const least = allowed;
  const plan = reading.planSupport(allowed, child, drill, state.surface, state.supportChoices);
  const options = state.pack.supports.map(({ amount, name }) => {
    const act = () => {
      // Of a class that is over it is only written down what was given.
      if (amount < least && !state.pack.over) openLessReasons(child, drill, amount, least);
      else chooseSupport(child, drill, amount, least);
    };
    const under = amount < least && !state.pack.over ? make("small", {}, say("less-than-allowed")) : null;
    const words = make("span", {}, name);
    const option = choice("with-blocks", act, drawings.blocks(amount), words, under);
    option.setAttribute("aria-pressed", amount === plan.amount);
    return option;
  });
  return make(
    "section",
    { class: "support-choice" },
    make("p", { class: "big" }, say("allowed", { support: supportName(allowed) })),
    make("h3", {}, say("next-support")),
    choices("", options),
    make("p", {}, say("child-may-ask")),
  );
}

function openLessReasons(child, drill, amount, least) {
  const options = state.pack.less.map((code) =>
    choice("", () => chooseSupport(child, drill, amount, least, code), sayCode("less", code)),
  );
  openSheet(
    say("why-less", { name: child.name, support: supportName(amount) }),
    make("p", {}, say("less-is-told")),
    choices("", options),
  );
}

export function outcomeOf(turn) {
  if (turn.value !== undefined && turn.value !== null) return formatNumber(turn.value);
  if (turn.caught) return say("caught-turn");
  return turn.clean ? say("clean") : say("not-clean");
}

/* What to do, whom to call and from where; then what is missing of that. */
export function emergency() {
  const { emergency: number, address } = state.pack.meeting;
  const call = say("emergency", { number: number || "…", address: address || "…" });
  return [call, ...missingOfHall()];
}

export function missingOfHall() {
  const { emergency: number, address, emergency_confirmed: confirmed } = state.pack.meeting;
  return [
    number ? null : say("no-emergency-number"),
    address ? null : say("no-address"),
    // A class that was kept by an older page does not say.
    number && confirmed === false ? say("not-confirmed", { number }) : null,
  ].filter((sentence) => sentence !== null);
}

/* Sheets show what was known when they were opened; the tiles go on. */
byId("sheet").addEventListener("close", () => {
  // Another one may have been opened meanwhile.
  if (!byId("sheet").open) closeEntry();
  changed();
});
