/* The pad on which a number is typed: seconds or repetitions of one child. */

import { button, make } from "../drawing/dom.js";
import { decimalSign, formatNumber, say, sayCode } from "../drawing/words.js";
import { childrenShown, logTurn } from "./actions.js";
import { drillFor } from "./apart.js";
import { openHold } from "./hold.js";
import { readNumber, whyNotFor } from "./numbers.js";
import { keepOpen } from "./open_entry.js";
import { choice, closeSheet, confirmUnusual, openSheet } from "./sheets.js";

const LONGEST_NUMBER = 7;

/* Seconds or repetitions by number, then perhaps the next child in line. */
export function openNumberPad(child, drill, counted = 0) {
  new NumberPad(child, drill, counted).open();
}

class NumberPad {
  #child;
  #drill;
  #typed;
  #shown = make("output", { class: "number", "aria-live": "polite" });
  #refusal = make("p", { class: "refused", role: "alert" });
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
    const steps = [1, 5].map((step) => button("btn key", () => this.#add(step), `+${step}`));
    const clock = drill.measure === "seconds" ? choice("", () => openHold(this.#child), say("hold-clock")) : null;
    const side = [
      this.#shown,
      this.#refusal,
      make("div", { class: "steps" }, steps),
      clock,
      this.#keep,
      this.#keepNext,
    ];
    const pad = make(
      "div",
      { class: "pad" },
      make("div", { class: "keys" }, keys),
      make("div", { class: "pad-side" }, ...side),
    );
    pad.addEventListener("keydown", (event) => this.#handleKey(event));
    const measure = sayCode("measures", drill.measure);
    openSheet(say("number-of", { name: this.#child.name, drill: drill.name, measure }), pad);
    this.#show();
    keys[0].focus();
  }

  #makeKeys() {
    const erase = button("btn key", () => this.#erase(), "⌫");
    erase.setAttribute("aria-label", say("erase"));
    const digitKey = (digit) => button("btn key", () => this.#press(digit), digit);
    const keys = [..."123456789"].map(digitKey).concat(erase, digitKey("0"));
    if (this.#drill.measure === "seconds") keys.push(digitKey(decimalSign()));
    return keys;
  }

  #handleKey(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === "Backspace") this.#erase();
    else if (event.key === "Enter" && this.#typed !== "") this.#log(null);
    else if (event.key.length === 1 && event.key !== " ") this.#press(event.key);
    else return;
    event.preventDefault();
  }

  /* What was typed stays in sight; where it is no number for this drill, it says so beside it. */
  #show() {
    const missing = this.#typed === "";
    this.#shown.textContent = missing ? "–" : this.#typed;
    const number = readNumber(this.#typed);
    const why = missing ? null : whyNotFor(this.#drill, number);
    // In the middle of 7,5 it is not wrong yet.
    const begun = /^[0-9]+[.,]$/.test(this.#typed) && this.#drill.measure === "seconds";
    this.#refusal.textContent = why && !begun ? say(why, { most: formatNumber(this.#drill.most) }) : "";
    this.#keep.disabled = missing || why !== null || number === 0;
    if (this.#keepNext) this.#keepNext.disabled = this.#keep.disabled;
    this.#keep.textContent = say("keep-number", { n: number === null ? "" : formatNumber(number) });
    keepOpen({ kind: "number", child: this.#child.id, drill: this.#drill.key, typed: this.#typed });
  }

  #add(step) {
    const sum = (readNumber(this.#typed) ?? 0) + step;
    this.#typed = String(Math.round(sum * 10) / 10).replace(".", decimalSign());
    this.#show();
  }

  #press(sign) {
    if (this.#typed.length < LONGEST_NUMBER) this.#typed += sign;
    this.#show();
  }

  #erase() {
    this.#typed = this.#typed.slice(0, -1);
    this.#show();
  }

  /* Log the number; then go on with the next child, if one is given. */
  #log(next) {
    const drill = this.#drill;
    const value = readNumber(this.#typed);
    if (!value || whyNotFor(drill, value) !== null) return;
    closeSheet();
    logTurn(this.#child, drill, { value }, !next && drill.faults.length > 0);
    if (next) confirmUnusual(next, drill, () => openNumberPad(next, drill));
  }
}

/* The next in line of those who are at the same drill. */
export function nextChild(child) {
  const here = childrenShown().filter((one) => drillFor(one) === drillFor(child));
  return here[here.findIndex((one) => one.id === child.id) + 1] ?? null;
}
