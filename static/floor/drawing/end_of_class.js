/* End of class, on one page: what was logged, whom to tell what at the door, what is left to do.
   All of it by taps, without a network as well. */

import { closeClass, lines, reportTold } from "../entry/actions.js";
import { questionsAbout } from "../entry/asked.js";
import { matsSection } from "../entry/hall.js";
import { aboutName } from "../entry/told.js";
import { openNote } from "../entry/typed_note.js";
import {
  classOver,
  hasHappened,
  leftOver,
  stopSignsTonight,
  toldTonight,
  toTell,
  turnsTonight,
} from "../rules/evening.js";
import { brokenMats, matsLookedAt } from "../rules/hall.js";
import { isWaiting, presentChildren } from "../rules/reading.js";
import { dropNote } from "../sending/notes.js";
import { changed, state } from "../state.js";
import { childName } from "./code_names.js";
import { button, byId, fillWith, make } from "./dom.js";
import { clockTime, joinList, say, sayCode, sayCount } from "./words.js";

let drawn = "";

export function prepareEndOfClass() {
  byId("end-of-class").addEventListener("click", () => show("end"));
  byId("end-back").addEventListener("click", () => show("floor"));
  byId("end-close").addEventListener("click", closeClass);
}

function show(view) {
  state.view = view;
  changed();
}

export function drawEndOfClass() {
  const { pack } = state;
  const now = lines();
  const evening = {
    turns: turnsTonight(pack, now).length,
    here: presentChildren(pack, now).length,
    waiting: [...state.records.values()].filter(isWaiting).length,
    notes: state.notes,
    children: pack.children.map((child) => child.name),
    over: classOver(pack, now),
    tell: toTell(pack, now),
    told: toldTonight(pack, now),
    happened: hasHappened(pack, now),
    stops: stopSignsTonight(pack, now),
    ...leftOver(pack, now),
    mats: [matsLookedAt(pack, now), ...brokenMats(pack, now)],
  };
  const content = JSON.stringify(evening, (key, value) => (key === "drills" ? undefined : value));
  if (content === drawn) return;
  drawn = content;
  drawHead(evening);
  fillWith(byId("end-list"), [
    drawToTell(evening),
    drawTold(evening),
    drawStops(evening),
    drawUnasked(evening),
    drawNotesPart(evening),
    drawLeftOver(evening),
    part(say("hall"), matsSection(changed)),
  ]);
}

function drawHead({ turns, here, waiting, over, happened }) {
  const sentences = [
    say("end-turns", { turns: sayCount("of-turns", turns), children: sayCount("children-count", here) }),
    waiting ? sayCount("lines-here-still", waiting) : say("all-sent"),
    over ? say("over-since", { time: clockTime(Date.parse(over.at)), by: over.by }) : null,
    happened ? say("desk-by-tomorrow") : null,
    state.pack.me.grades ? null : say("coach-closes"),
  ];
  fillWith(
    byId("end-words"),
    sentences.filter(Boolean).map((sentence) => make("p", {}, sentence)),
  );
  byId("end-close").hidden = !state.pack.me.grades || over !== null;
}

function part(title, ...content) {
  return make("section", { class: "before-part" }, make("h3", {}, title), ...content);
}

/* One tap: who was told. */
function drawToTell({ tell }) {
  if (tell.length === 0) return null;
  const rows = tell.map(({ child, what, pauses }) =>
    make(
      "li",
      {},
      make("p", {}, make("strong", {}, say("tell-about", { name: child.name, about: aboutName(what) }))),
      pauses ? make("p", { class: "heed" }, say("leaves-with-told", { name: child.name })) : null,
      make(
        "div",
        { class: "options" },
        state.pack.whom.map((whom) => button("btn", () => reportTold(child, what, whom), sayCode("whom", whom))),
      ),
      // Written and printed at the desk, with a network.
      state.pack.me.grades
        ? make("p", {}, make("a", { href: `/children/${child.id}/door-notes` }, say("door-note")))
        : null,
    ),
  );
  return part(
    say("to-tell"),
    make("p", {}, sayCount("not-told-yet", tell.length)),
    make("ul", { class: "to-tell" }, rows),
  );
}

function drawTold({ told }) {
  if (told.length === 0) return null;
  const rows = told.map(({ child, told: each }) => {
    const values = { time: clockTime(Date.parse(each.at)), about: aboutName(each.what) };
    const said = say("told-at", { ...values, whom: sayCode("whom", each.whom) });
    return make("li", {}, make("strong", {}, child.name), ` ${said}`);
  });
  return part(say("told-tonight"), make("ul", {}, rows));
}

function drawStops({ stops }) {
  if (stops.length === 0) return part(say("stop-signs"), make("p", {}, say("no-stop-sign")));
  const rows = stops.map(({ child, drill, turn }) => {
    const seen = drill.faults.filter((fault) => turn.faults?.includes(fault.key)).map((fault) => fault.sees);
    if (turn.caught) seen.push(say("caught"));
    return make("li", {}, make("strong", {}, child.name), ` ${drill.name}: ${joinList(seen)}`);
  });
  return part(say("stop-signs"), make("ul", {}, rows));
}

function drawUnasked({ unasked }) {
  if (unasked.length === 0) return null;
  const rows = unasked.map((child) => make("li", {}, make("strong", {}, child.name), questionsAbout(child)));
  return part(say("not-asked-yet"), make("ul", {}, rows));
}

/* A note on a child, and those that still wait here. */
function drawNotesPart({ notes }) {
  const rows = notes
    .filter((note) => note.author === state.pack.me.id)
    .map(({ id, child, text, refused }) =>
      make(
        "li",
        {},
        make("strong", {}, childName(child)),
        ` ${text}`,
        refused ? make("p", {}, say("note-refused")) : null,
        refused ? button("btn", () => dropNote(id), say("put-away")) : null,
      ),
    );
  const children = state.pack.ready_notes ? state.pack.children : [];
  if (rows.length + children.length === 0) return null;
  const options = children.map((child) => button("btn", () => openNote(child), child.name));
  return part(
    say("note-title"),
    rows.length ? make("p", {}, sayCount("notes-wait", rows.length)) : null,
    rows.length ? make("ul", {}, rows) : null,
    make("div", { class: "options children" }, options),
  );
}

function drawLeftOver({ noTurn, notHere }) {
  const names = (children) => joinList(children.map((child) => child.name));
  if (noTurn.length + notHere.length === 0) return null;
  return part(
    say("who-was-missed"),
    noTurn.length ? make("p", {}, say("no-turn-tonight", { names: names(noTurn) })) : null,
    notHere.length ? make("p", {}, say("was-not-here", { names: names(notHere) })) : null,
  );
}
