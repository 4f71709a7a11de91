/* Repetitions of one child, counted by tapping. A count that has not been logged yet is still
   there when the sheet is opened again. */

import { button, make } from "../drawing/dom.js";
import { say, sayCode } from "../drawing/words.js";
import { logTurn } from "./actions.js";
import { nextChild, openNumberPad } from "./number_pad.js";
import { counts, keepOpen } from "./open_entry.js";
import { closeSheet, confirmUnusual, openSheet } from "./sheets.js";

export function openRepCounter(child, drill) {
  const key = `${child.id} ${drill.key}`;
  let count = counts.get(key) ?? 0;
  const next = nextChild(child);
  const shown = make("output", { class: "number", "aria-live": "polite" });
  const more = button("btn act plus", () => set(count + 1), "+1");
  const less = button("btn key", () => set(count - 1), "−1");
  const keep = button("btn wide", () => log(null));
  const keepNext = next ? button("btn wide", () => log(next), say("keep-next", { name: next.name })) : null;
  const type = button("btn", () => openNumberPad(child, drill, count), say("type-number"));

  function set(number) {
    count = Math.max(0, Math.min(number, drill.most));
    counts.set(key, count);
    keepOpen({ kind: "reps", child: child.id, drill: drill.key });
    shown.textContent = String(count);
    keep.textContent = say("keep-number", { n: count });
    less.disabled = count === 0;
    keep.disabled = count === 0;
    if (keepNext) keepNext.disabled = count === 0;
    more.disabled = count === drill.most;
  }
  function log(following) {
    counts.delete(key);
    closeSheet();
    logTurn(child, drill, { value: count }, !following && drill.faults.length > 0);
    if (following) confirmUnusual(following, drill, () => openRepCounter(following, drill));
  }

  const measure = sayCode("measures", drill.measure);
  openSheet(
    say("number-of", { name: child.name, drill: drill.name, measure }),
    make(
      "div",
      { class: "pad reps" },
      more,
      make("div", { class: "pad-side" }, shown, make("div", { class: "steps" }, less, type), keep, keepNext),
    ),
  );
  set(count);
  more.focus();
}
