/* Turns tonight: who had none yet, the fewest first, and which children are at this tablet's
   station. */

import { button, byId, make, setText } from "../drawing/dom.js";
import { releaseTiles } from "../drawing/tiles.js";
import { joinList, say, sayCount } from "../drawing/words.js";
import { turnCounts } from "../rules/evening.js";
import { drillOf, presentChildren } from "../rules/reading.js";
import { state } from "../state.js";
import { childrenShown, chooseOrder, chooseStation, lines } from "./actions.js";
import { lineChoices } from "./rotation.js";
import { choice, choices, openSheet } from "./sheets.js";
import { oncePerGesture } from "./taps.js";

export function prepareTonight() {
  byId("tonight").addEventListener("click", openTonight);
}

/* "counts": of the children's turns, as in evening.js. */
export function drawTonight(now, counts) {
  const shown = childrenShown(now);
  const none = sayCount("none-yet", shown.filter(({ id }) => counts(id).all === 0).length);
  const all = presentChildren(state.pack, now).length;
  setText(byId("tonight"), state.station ? say("at-station", { n: shown.length, all, none }) : none);
}

function openTonight() {
  const drill = drillOf(state.pack, state.drill);
  const counts = turnCounts(state.pack, lines());
  const shown = childrenShown();
  const none = shown.filter(({ id }) => counts(id).all === 0);
  const noneHere = drill ? shown.filter(({ id }) => counts(id).of(drill.key) === 0) : [];
  openSheet(
    say("tonight"),
    nobodyYet(say("none-tonight-title"), none),
    drill ? nobodyYet(say("none-here-title", { drill: drill.name }), noneHere) : null,
    make("h3", {}, say("tiles-order")),
    choices(
      "",
      orderChoice(state.order !== null, () => orderTiles(fewestFirst()), say("fewest-first")),
      orderChoice(state.order === null, () => orderTiles(null), say("by-name")),
    ),
    make("h3", {}, say("my-line")),
    lineChoices(),
    make("p", {}, say("my-line-how")),
    stationChoices(),
  );
}

function nobodyYet(title, children) {
  const names = children.length ? joinList(children.map(({ name }) => name)) : say("everybody-had");
  return make("section", {}, make("h3", {}, title), make("p", { class: "big" }, names));
}

/* Now; the tiles then stay where they are until it is asked for again. */
function fewestFirst() {
  const counts = turnCounts(state.pack, lines());
  const ids = presentChildren(state.pack, lines()).map(({ id }) => id);
  return ids.sort((one, other) => counts(one).all - counts(other).all);
}

/* The tiles move at once: it was asked for at this tablet. */
function orderTiles(ids) {
  releaseTiles();
  chooseOrder(ids);
}

function keepToStation(ids) {
  releaseTiles();
  chooseStation(ids);
}

function orderChoice(pressed, act, words) {
  const element = choice("", act, words);
  element.setAttribute("aria-pressed", pressed);
  return element;
}

function stationChoices() {
  const ids = new Set(state.station);
  const buttons = presentChildren(state.pack, lines()).map((child) => {
    const toggle = () => {
      if (!ids.delete(child.id)) ids.add(child.id);
      element.setAttribute("aria-pressed", ids.has(child.id));
      keepToStation(new Set(ids));
    };
    const element = button("btn", oncePerGesture(toggle), child.name);
    element.setAttribute("aria-pressed", ids.has(child.id));
    return element;
  });
  const everybody = choice("act", () => keepToStation(new Set()), say("everybody-here"));
  return [make("div", { class: "options children" }, buttons), choices("", everybody)];
}
