/* A whole line at once: everybody was clean, but for those who are tapped. */

import { button, fillWith, make } from "../drawing/dom.js";
import * as drawings from "../drawing/symbols.js";
import { listed, say, sayCount } from "../drawing/words.js";
import * as reading from "../rules/reading.js";
import { state } from "../state.js";
import { lines, logTurns } from "./actions.js";
import { askSurface, closeSheet, openSheet } from "./sheets.js";
import { oneGesture } from "./taps.js";

export function askWholeLine() {
  if (state.surface === null) {
    askSurface();
    return;
  }
  const drill = reading.drillOf(state.pack, state.drill);
  const { ready, not } = reading.lineFor(state.pack, drill, state.surface, lines());
  const missed = new Set();
  const log = button(
    "btn act wide",
    oneGesture(() => {
      closeSheet();
      logTurns(
        drill,
        ready.map((child) => [child, { clean: !missed.has(child.id) }]),
      );
    }),
  );

  function show() {
    log.disabled = ready.length === 0;
    const clean = ready.length - missed.size;
    log.textContent = say("log-line", { clean, missed: missed.size });
  }
  function entry(child) {
    const outcome = make("span", { class: "said" });
    const tell = (is) => fillWith(outcome, drawings.mark(!is), make("span", {}, say(is ? "not-clean" : "clean")));
    const toggle = () => {
      if (!missed.delete(child.id)) missed.add(child.id);
      const is = missed.has(child.id);
      tell(is);
      one.setAttribute("aria-pressed", is);
      show();
    };
    const one = button("in-line", oneGesture(toggle), make("span", { class: "name" }, child.name), outcome);
    one.setAttribute("aria-pressed", "false");
    tell(false);
    return one;
  }

  show();
  openSheet(
    say("whole-line", { drill: drill.name }),
    ready.length ? make("p", {}, say("tap-not-clean")) : make("p", { class: "big" }, say("nobody-ready")),
    not.length ? make("p", { class: "left-out" }, leftOut(not)) : null,
    make("div", { class: "line-grid" }, ready.map(entry)),
    log,
  );
}

function leftOut(children) {
  return sayCount("left-out", children.length, { names: listed(children.map(({ name }) => name)) });
}
