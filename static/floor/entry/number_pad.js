/* The pad on which a number is typed: seconds or repetitions of one child. */

import { button, make } from "../drawing/dom.js";
import { say, sayCode } from "../drawing/words.js";
import * as reading from "../rules/reading.js";
import { state } from "../state.js";
import { lines, logTurn } from "./actions.js";
import { openHold } from "./hold.js";
import { choice, closeSheet, confirmUnusual, openSheet } from "./sheets.js";

const LONGEST_NUMBER = 3;

/* Seconds or repetitions by number, then perhaps the next child in line. */
export function openNumberPad(child, drill, counted = 0) {
  new NumberPad(child, drill, counted).open();
}

class NumberPad {
  #child;
  #drill;
  #typed;
  #shown = make("output", { class: "number", "aria-live": "polite" });
  #keep = button("btn act wide", () => this.#log(null));
  #keepNext = null;

  constructor(child, drill, counted) {
    this.#child = child;
    this.#drill = drill;
    this.#typed = counted ? String(counted) : "";
    const next = nextChild(child);
    if (next) this.#keepNext = button("btn wide", () => this.#log(next), say("keep-next", { name: next.name }));
  }

  open() {
    const drill = this.#drill;
    const keys = this.#makeKeys();
    const steps = [1, 5].map((step) => button("btn key", () => this.#set(Number(this.#typed || 0) + step), `+${step}`));
    const clock = drill.measure === "seconds" ? choice("", () => openHold(this.#child), say("hold-clock")) : null;
    const side = [this.#shown, make("div", { class: "steps" }, steps), clock, this.#keep, this.#keepNext];
    const pad = make(
      "div",
      { class: "pad" },
      make("div", { class: "keys" }, keys),
      make("div", { class: "pad-side" }, ...side),
    );
    pad.addEventListener("keydown", (event) => this.#handleKey(event));
    this.#show();
    const measure = sayCode("measures", drill.measure);
    openSheet(say("number-of", { name: this.#child.name, drill: drill.name, measure }), pad);
    keys[0].focus();
  }

  #makeKeys() {
    const erase = button("btn key", () => this.#erase(), "⌫");
    erase.setAttribute("aria-label", say("erase"));
    const digitKey = (digit) => button("btn key", () => this.#press(digit), digit);
    return [..."123456789"].map(digitKey).concat(erase, digitKey("0"));
  }

  #handleKey(event) {
    if (/^[0-9]$/.test(event.key)) this.#press(event.key);
    else if (event.key === "Backspace") this.#erase();
    else if (event.key === "Enter" && this.#typed !== "") this.#log(null);
    else return;
    event.preventDefault();
  }

  #show() {
    const missing = this.#typed === "";
    this.#shown.textContent = missing ? "–" : this.#typed;
    this.#keep.disabled = missing;
    if (this.#keepNext) this.#keepNext.disabled = missing;
    this.#keep.textContent = say("keep-number", { n: this.#typed });
  }

  #set(number) {
    this.#typed = String(Math.min(number, this.#drill.most));
    this.#show();
  }

  #press(digit) {
    if (this.#typed.length < LONGEST_NUMBER) this.#set(Number(this.#typed + digit));
  }

  #erase() {
    this.#typed = this.#typed.slice(0, -1);
    this.#show();
  }

  /* Log the number; then go on with the next child, if one is given. */
  #log(next) {
    if (this.#typed === "") return;
    const drill = this.#drill;
    closeSheet();
    logTurn(this.#child, drill, { value: Number(this.#typed) }, !next && drill.faults.length > 0);
    if (next) confirmUnusual(next, drill, () => openNumberPad(next, drill));
  }
}

export function nextChild(child) {
  const here = reading.presentChildren(state.pack, lines());
  return here[here.findIndex((one) => one.id === child.id) + 1] ?? null;
}
