/* A whole line at once: everybody was clean, but for those who are tapped. */

import { button, fillWith, make } from "../drawing/dom.js";
import * as drawings from "../drawing/symbols.js";
import { joinList, say, sayCount } from "../drawing/words.js";
import * as reading from "../rules/reading.js";
import { state } from "../state.js";
import { lines, logTurns } from "./actions.js";
import { closeSheet, openSheet, openSurfaces } from "./sheets.js";
import { oncePerGesture } from "./taps.js";

export function openWholeLine() {
  if (state.surface === null) {
    openSurfaces();
    return;
  }
  const drill = reading.drillOf(state.pack, state.drill);
  const { ready, notReady } = reading.presentByReadiness(state.pack, drill, state.surface, lines());
  // Ids of the children who were not clean.
  const missed = new Set();
  const log = button(
    "btn act wide",
    oncePerGesture(() => logLine(drill, ready, missed)),
  );
  const showCounts = () => {
    log.textContent = say("log-line", { clean: ready.length - missed.size, missed: missed.size });
  };
  log.disabled = ready.length === 0;
  showCounts();
  openSheet(
    say("whole-line", { drill: drill.name }),
    ready.length ? make("p", {}, say("tap-not-clean")) : make("p", { class: "big" }, say("nobody-ready")),
    notReady.length ? make("p", { class: "left-out" }, leftOutSentence(notReady)) : null,
    make(
      "div",
      { class: "line-grid" },
      ready.map((child) => childButton(child, missed, showCounts)),
    ),
    log,
  );
}

function logLine(drill, children, missed) {
  closeSheet();
  logTurns(
    drill,
    children.map((child) => [child, { clean: !missed.has(child.id) }]),
  );
}

/* A tap puts the child among those who were not clean, another one takes it out again. */
function childButton(child, missed, onChange) {
  const outcome = make("span", { class: "said" });
  const toggle = () => {
    if (!missed.delete(child.id)) missed.add(child.id);
    show();
    onChange();
  };
  const element = button("in-line", oncePerGesture(toggle), make("span", { class: "name" }, child.name), outcome);
  const show = () => {
    const isMissed = missed.has(child.id);
    fillWith(outcome, drawings.mark(!isMissed), make("span", {}, say(isMissed ? "not-clean" : "clean")));
    element.setAttribute("aria-pressed", isMissed);
  };
  show();
  return element;
}

function leftOutSentence(children) {
  return sayCount("left-out", children.length, { names: joinList(children.map(({ name }) => name)) });
}
