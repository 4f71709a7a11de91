/* What somebody wrote down that is no turn (what hurts, who fell, who is not here), to be taken back. */

import { painName } from "../drawing/code_names.js";
import { button, make } from "../drawing/dom.js";
import { clockTime, say, sayCode } from "../drawing/words.js";
import * as reading from "../rules/reading.js";
import { clockOffset } from "../sending/clock.js";
import { state } from "../state.js";
import { lines, pauseOfAnother, strike } from "./actions.js";
import { choices, openSheet } from "./sheets.js";

// A pause goes as the wrong child's within so long, in milliseconds.
const WRONG_CHILD_WITHIN = 2 * 60_000;

/* One's own of this class, newest first; "then" is called once one is taken back. */
export function ownReportRows(then) {
  return reading.ownReports(state.pack, lines()).map((report) => {
    const what = whatOf(report);
    return make(
      "li",
      {},
      make("span", { class: "when" }, clockTime(report.done)),
      make("span", { class: "what" }, make("strong", {}, report.child.name), ` ${what}`),
      make("span", { class: "ends" }, waysBack(report, then)),
    );
  });
}

function whatOf({ kind, place }) {
  if (kind === "fell") return say("a-fall");
  return kind === "hurt" ? say("hurts", { places: painName(place) }) : say("not-here");
}

function waysBack(report, then) {
  if (!pauses(report.place)) return ["wrong-tap", "wrong-child"].map((code) => strikeButton(report, code, then));
  const now = Date.now() + (clockOffset() ?? 0);
  if (now - report.done > WRONG_CHILD_WITHIN) return [make("span", {}, say("pause-is-lifted"))];
  return [button("btn", () => askWhoInstead(report, then), sayCode("strikes", "wrong-child"))];
}

function strikeButton({ id }, code, then) {
  const act = async () => {
    await strike(id, code);
    then();
  };
  return button("btn", act, sayCode("strikes", code));
}

function pauses(place) {
  return state.pack.pain.some((pain) => pain.place === place && pain.pause);
}

/* The pause is somebody's: without the right child's name it stays. */
function askWhoInstead({ child, id, place }, then) {
  const here = reading.presentChildren(state.pack, lines()).filter((one) => one.id !== child.id);
  const options = here.map((one) => {
    const act = async () => {
      await pauseOfAnother(id, one, place);
      then();
    };
    return button("btn", act, one.name);
  });
  openSheet(say("who-instead", { place: painName(place) }), choices("children", options));
}
