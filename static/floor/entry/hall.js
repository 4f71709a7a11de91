/* The hall: is the spotter there, who looked at the mats, which mat is broken. One tap each, without
   a network as well; what is said is on every tablet that it concerns once there is one. */

import { surfaceName } from "../drawing/code_names.js";
import { button, byId, make, setText } from "../drawing/dom.js";
import { clockTime, say } from "../drawing/words.js";
import * as hall from "../rules/hall.js";
import { doneAt } from "../rules/line_index.js";
import { state } from "../state.js";
import { chooseSurface, lines, reportOfHall } from "./actions.js";
import { choice, choices, openSheet } from "./sheets.js";
import { oncePerGesture } from "./taps.js";

export function prepareHall() {
  byId("spotter").addEventListener("click", oncePerGesture(tapSpotter));
}

function tapSpotter() {
  reportOfHall(hall.spotterGone(state.pack, lines()) ? hall.SPOTTER_BACK : hall.SPOTTER_GONE);
}

export function drawSpotter() {
  const isGone = hall.spotterGone(state.pack, lines()) !== null;
  setText(byId("spotter"), say(isGone ? hall.SPOTTER_BACK : hall.SPOTTER_GONE));
  byId("spotter").classList.toggle("heed", isGone);
}

/* For whoever has not tapped it: since when, and who said so; or empty. */
export function spotterSentence(now) {
  const gone = hall.spotterGone(state.pack, now);
  return gone ? say("spotter-gone-since", saidBy(gone)) : "";
}

function saidBy(report) {
  const { me } = state.pack;
  const by = report.by === me.id ? me.name : (state.names[report.by] ?? report.by);
  return { time: clockTime(doneAt(report)), by };
}

/* A surface that is out of use is chosen no longer; not while something on it is being entered. */
export function leaveBrokenSurface(now) {
  if (state.view !== "floor" || byId("sheet").open || state.draft !== null) return;
  if (state.surface && hall.brokenMats(state.pack, now).has(state.surface)) state.surface = null;
}

export function openSurfaces() {
  const broken = hall.brokenMats(state.pack, lines());
  const options = state.pack.surfaces.map(({ key, name }) => {
    const isBroken = broken.has(key);
    const out = isBroken ? make("small", {}, say("out-of-use")) : null;
    const option = choice("", () => chooseSurface(key), name, out);
    option.disabled = isBroken;
    option.setAttribute("aria-pressed", key === state.surface && !isBroken);
    return option;
  });
  openSheet(say("which-surface"), choices("", options), matsSection(openSurfaces));
}

/* Who looked at the mats, and which are out of use; "then" is called after each tap. */
export function matsSection(then) {
  const looked = hall.matsLookedAt(state.pack, lines());
  const act = (what, surface) =>
    oncePerGesture(async () => {
      await reportOfHall(what, surface);
      then();
    });
  const rows = [...hall.brokenMats(state.pack, lines())].map(([key, report]) => {
    const sentence = say("out-of-use-since", { surface: surfaceName(key), ...saidBy(report) });
    const mended = button("btn", act(hall.MAT_MENDED, key), say(hall.MAT_MENDED));
    return make("li", {}, make("span", { class: "what" }, sentence), mended);
  });
  return make(
    "section",
    { class: "mats" },
    make("p", {}, looked ? say("mats-looked-by", saidBy(looked)) : say("mats-not-looked")),
    rows.length ? make("ul", { class: "rows" }, rows) : null,
    choices(
      "",
      button("btn", act(hall.MATS_LOOKED_AT), say(hall.MATS_LOOKED_AT)),
      button("btn", () => openBroken(act), say(hall.MAT_BROKEN)),
    ),
  );
}

function openBroken(act) {
  const broken = hall.brokenMats(state.pack, lines());
  const whole = state.pack.surfaces.filter(({ key }) => !broken.has(key));
  const options = whole.map(({ key, name }) => button("btn heed", act(hall.MAT_BROKEN, key), name));
  openSheet(say("which-mat"), make("p", { class: "big" }, say("which-mat-how")), choices("", options));
}
