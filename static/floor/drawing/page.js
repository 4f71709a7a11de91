/* The page put together: what is shown of it now, its foot, and the strip of drills. */

import { chooseDrill, lines, strikeAll } from "../entry/actions.js";
import { drawRoll } from "../entry/attendance.js";
import { drawFaults } from "../entry/faults.js";
import { drawHold, openHold } from "../entry/hold.js";
import {
  askChild,
  askDrill,
  askHurt,
  askSurface,
  measureOf,
  outcomeOf,
  showFall,
  showLastTurns,
} from "../entry/sheets.js";
import { askWholeLine } from "../entry/whole_line.js";
import * as reading from "../rules/reading.js";
import { changed, meeting, signInAddress, state } from "../state.js";
import { drawChangeOver } from "../tablet/change_over.js";
import { fetchNewer } from "../tablet/shell.js";
import { drawBar, drawKept } from "./bar.js";
import { drawBefore } from "./before_class.js";
import { surfaceName } from "./code_names.js";
import { button, byId, fillWith, fit, make, setText } from "./dom.js";
import { drawNotes } from "./page_notes.js";
import { drawTiles } from "./tiles.js";
import { say, sayCount } from "./words.js";

let saidLast = null;

function show(view) {
  state.view = view;
  changed();
}

export function prepareFoot() {
  byId("surface").addEventListener("click", askSurface);
  byId("all-drills").addEventListener("click", askDrill);
  byId("last-turns").addEventListener("click", showLastTurns);
  byId("hurt").addEventListener("click", askHurt);
  byId("about").addEventListener("click", askChild);
  byId("fall").addEventListener("click", showFall);
  byId("who").addEventListener("click", () => show("roll"));
  byId("before-class").addEventListener("click", () => show("before"));
  byId("undo").addEventListener("click", () => {
    strikeAll(
      lastTurns().map(({ turn }) => turn.id),
      "wrong-tap",
    );
  });
  byId("way").addEventListener("click", () => WAYS[measureNow()]?.act());
  addEventListener("resize", () => fit(byId("strip")));
}

export function drawAll() {
  drawKept();
  drawNotes();
  drawTrouble();
  const { pack } = state;
  byId("opening").hidden = pack !== null || state.packTrouble !== null || meeting === null;
  if (!pack) return;
  const floor = state.view === "floor";
  byId("before").hidden = state.view !== "before";
  byId("roll").hidden = state.view !== "roll";
  byId("tiles").hidden = !floor;
  byId("choices").hidden = !floor;
  byId("foot").hidden = !floor;
  drawBar();
  drawChangeOver();
  if (floor) {
    drawChoices();
    drawTiles();
    drawFoot();
  } else if (state.view === "roll") {
    drawRoll();
  } else if (state.view === "before") {
    drawBefore();
  }
  drawHold();
  drawFaults();
  sayLast();
}

/* Without a class there is nothing to log; say why, and what can be done. */
function drawTrouble() {
  const trouble = state.pack === null || state.packTrouble === "newer-page" ? state.packTrouble : null;
  const note = byId("trouble");
  note.hidden = trouble === null;
  if (trouble === null) return;
  const way =
    trouble === "sign-in"
      ? make("a", { class: "btn act", href: signInAddress() }, say("to-sign-in"))
      : button("btn act", trouble === "newer-page" ? fetchNewer : reload, say("try-again"));
  fillWith(note, make("p", {}, say(`pack-${trouble}`)), way);
}

function reload() {
  location.reload();
}

function drawChoices() {
  const surface = state.surface ? surfaceName(state.surface) : say("choose");
  if (byId("surface").dataset.drawn !== surface) {
    byId("surface").dataset.drawn = surface;
    fillWith(byId("surface"), make("span", {}, surface), make("small", {}, say("surface")));
  }
  const strip = byId("strip");
  const drawn = [state.drill, ...state.strip].join(" ");
  if (strip.dataset.drawn === drawn) return;
  strip.dataset.drawn = drawn;
  // The ladder may have changed since they were put there.
  const there = state.strip.map((key) => reading.drillOf(state.pack, key)).filter(Boolean);
  const chips = there.map((drill) => {
    const { key } = drill;
    const chip = button("choice", () => chooseDrill(key), make("span", {}, drill.name), measureOf(drill));
    chip.setAttribute("aria-pressed", key === state.drill);
    return chip;
  });
  fillWith(strip, chips);
  fit(strip);
  // The chosen drill must be in sight.
  if (strip.querySelector("[aria-pressed=true]")?.hidden) {
    state.strip = [state.drill, ...state.strip.filter((key) => key !== state.drill)];
    drawChoices();
  }
}

function drawFoot() {
  const { meeting: place } = state.pack;
  setText(byId("fall"), say("fall-button", { number: place.emergency }));
  const last = lastTurns();
  byId("undo").disabled = last.length === 0;
  setText(byId("undo"), last.length === 0 ? say("undo-none") : say("undo", { turn: inWords(last) }));
  const way = WAYS[measureNow()];
  byId("way").hidden = way === undefined;
  if (way) setText(byId("way"), say(way.words));
}

/* What logs many children at once, by what is measured. */
const WAYS = {
  clean: { words: "all-clean-but", act: askWholeLine },
  seconds: { words: "hold-clock", act: () => openHold() },
};

function measureNow() {
  return reading.drillOf(state.pack, state.drill)?.measure;
}

/* The turns that the quick undo takes back: one, or a whole line. */
function lastTurns() {
  if (state.last.length === 0) return [];
  return reading.turnsOf(state.last, state.pack, lines());
}

function inWords(turns) {
  if (turns.length > 1) return sayCount("turns-of-line", turns.length);
  const [{ child, turn }] = turns;
  return say("turn-of", { name: child.name, outcome: outcomeOf(turn) });
}

/* One sentence for a screen reader after each turn. */
function sayLast() {
  const last = lastTurns();
  const sentence = last.length === 0 ? "" : `${inWords(last)}.`;
  const id = last[0]?.turn.id;
  if (id === saidLast?.id && sentence === (saidLast?.sentence ?? "")) return;
  saidLast = last.length === 0 ? null : { id, sentence };
  byId("said").textContent = sentence;
}
