/* The pad on which a number is typed: seconds or repetitions of one child. */

import { button, make } from "../drawing/dom.js";
import { say, sayCode } from "../drawing/words.js";
import * as reading from "../rules/reading.js";
import { state } from "../state.js";
import { lines, logTurn } from "./actions.js";
import { openHold } from "./hold.js";
import { askUnusual, choice, closeSheet, openSheet } from "./sheets.js";

const LONGEST_NUMBER = 3;

/* Seconds or repetitions by number, then perhaps the next child in line. */
export function askNumber(child, drill, counted = 0) {
  let typed = counted ? String(counted) : "";
  const shown = make("output", { class: "number", "aria-live": "polite" });
  const next = nextChild(child);
  const keep = button("btn act wide", () => log(null));
  const keepNext = next ? button("btn wide", () => log(next), say("keep-next", { name: next.name })) : null;

  function show() {
    shown.textContent = typed === "" ? "–" : typed;
    const missing = typed === "";
    keep.disabled = missing;
    if (keepNext) keepNext.disabled = missing;
    keep.textContent = say("keep-number", { n: typed });
  }
  function set(number) {
    typed = String(Math.min(number, drill.most));
    show();
  }
  function press(digit) {
    if (typed.length < LONGEST_NUMBER) set(Number(typed + digit));
  }
  function back() {
    typed = typed.slice(0, -1);
    show();
  }
  function log(following) {
    if (typed === "") return;
    closeSheet();
    logTurn(child, drill, { value: Number(typed) }, !following && drill.faults.length > 0);
    if (following) askUnusual(following, drill, () => askNumber(following, drill));
  }

  const digits = ["1", "2", "3", "4", "5", "6", "7", "8", "9"];
  const keys = digits.map((digit) => button("btn key", () => press(digit), digit));
  const erase = button("btn key", back, "⌫");
  erase.setAttribute("aria-label", say("erase"));
  keys.push(
    erase,
    button("btn key", () => press("0"), "0"),
  );
  const more = [1, 5].map((step) => button("btn key", () => set(Number(typed || 0) + step), `+${step}`));
  const clock = drill.measure === "seconds" ? choice("", () => openHold(child), say("hold-clock")) : null;
  const pad = make(
    "div",
    { class: "pad" },
    make("div", { class: "keys" }, keys),
    make("div", { class: "pad-side" }, shown, make("div", { class: "steps" }, more), clock, keep, keepNext),
  );
  pad.addEventListener("keydown", (event) => {
    if (/^[0-9]$/.test(event.key)) press(event.key);
    else if (event.key === "Backspace") back();
    else if (event.key === "Enter" && typed !== "") log(null);
    else return;
    event.preventDefault();
  });
  show();
  const measure = sayCode("measures", drill.measure);
  openSheet(say("number-of", { name: child.name, drill: drill.name, measure }), pad);
  keys[0].focus();
}

export function nextChild(child) {
  const here = reading.presentChildren(state.pack, lines());
  return here[here.findIndex((one) => one.id === child.id) + 1] ?? null;
}
