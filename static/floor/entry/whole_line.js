/* A whole line at once: everybody was clean, but for those who are tapped; what was seen of each of
   these can be said as well. */

import { button, fillWith, make } from "../drawing/dom.js";
import * as drawings from "../drawing/symbols.js";
import { joinList, say, sayCount } from "../drawing/words.js";
import * as reading from "../rules/reading.js";
import { state } from "../state.js";
import { childrenShown, lines, logTurns, reportPain } from "./actions.js";
import { areAt } from "./apart.js";
import { openSurfaces } from "./hall.js";
import { keepOpen } from "./open_entry.js";
import { closeSheet, openSheet } from "./sheets.js";
import { oncePerGesture } from "./taps.js";

/* "missed": who was not clean, with the faults that were seen: [id, [fault, ...]] each. */
export function openWholeLine(missed = []) {
  if (state.surface === null) {
    openSurfaces();
    return;
  }
  const drill = reading.drillOf(state.pack, state.drill);
  const { ready: may } = reading.presentByReadiness(state.pack, drill, state.surface, lines());
  const here = childrenShown();
  const ready = here.filter((child) => may.includes(child) && areAt([child.id], drill.key));
  const notReady = here.filter((child) => !ready.includes(child));
  const line = new WholeLine(drill, ready, new Map(missed));
  openSheet(
    say("whole-line", { drill: drill.name }),
    ready.length ? make("p", {}, say("tap-not-clean")) : make("p", { class: "big" }, say("nobody-ready")),
    notReady.length ? make("p", { class: "left-out" }, leftOutSentence(notReady)) : null,
    ...line.elements,
  );
  line.draw();
}

class WholeLine {
  #drill;
  #children;
  #missed;
  // Whose faults are shown: who was tapped last of those who were not clean.
  #asked;
  #buttons;
  #seen = make("div", { class: "line-seen" });
  #log = button(
    "btn act wide",
    oncePerGesture(() => this.#logAll()),
  );

  constructor(drill, children, missed) {
    this.#drill = drill;
    this.#children = children;
    this.#missed = missed;
    this.#asked = children.findLast(({ id }) => missed.has(id)) ?? null;
    this.#buttons = children.map((child) => this.#childButton(child));
    this.#log.disabled = children.length === 0;
  }

  get elements() {
    return [make("div", { class: "line-grid" }, this.#buttons), this.#seen, this.#log];
  }

  draw() {
    keepOpen({ kind: "line", drill: this.#drill.key, missed: [...this.#missed] });
    for (const [at, child] of this.#children.entries()) this.#drawChild(child, this.#buttons[at]);
    this.#drawSeen();
    const missed = this.#missed.size;
    this.#log.textContent = say("log-line", { clean: this.#children.length - missed, missed });
  }

  /* A tap puts the child among those who were not clean, another one takes it out again. */
  #childButton(child) {
    const toggle = () => {
      if (!this.#missed.delete(child.id)) this.#missed.set(child.id, []);
      this.#asked = this.#missed.has(child.id) ? child : null;
      this.draw();
    };
    const name = make("span", { class: "name" }, child.name);
    return button("in-line", oncePerGesture(toggle), name, make("span", { class: "said" }));
  }

  #drawChild({ id }, element) {
    const faults = this.#missed.get(id);
    const words = faults?.length ? this.#faultWords(faults) : say(faults ? "not-clean" : "clean");
    fillWith(element.querySelector(".said"), drawings.mark(!faults), make("span", {}, words));
    element.setAttribute("aria-pressed", faults !== undefined);
  }

  #faultWords(keys) {
    return joinList(this.#drill.faults.filter(({ key }) => keys.includes(key)).map(({ sees }) => sees));
  }

  #drawSeen() {
    const child = this.#asked;
    if (!child || this.#drill.faults.length === 0) return fillWith(this.#seen);
    const faults = this.#missed.get(child.id);
    const asksHead = reading.asksAboutHead(state.pack, { faults }) && !reading.isPaused(state.pack, child, lines());
    const pause = async () => {
      await reportPain(child, "head");
      this.draw();
    };
    fillWith(
      this.#seen,
      make("h3", {}, say("line-seen", { name: child.name })),
      make(
        "div",
        { class: "options" },
        asksHead ? button("btn act", pause, say("head-question")) : null,
        this.#drill.faults.map((fault) => this.#faultButton(child, fault, faults)),
      ),
    );
  }

  #faultButton(child, fault, chosen) {
    const { amount } = reading.plannedSupport(
      state.pack,
      child,
      this.#drill,
      state.surface,
      lines(),
      state.supportChoices,
    );
    const isStop = reading.isStop(fault, amount, reading.turnsToday(child, this.#drill.key, lines()));
    const toggle = () => {
      const others = chosen.filter((key) => key !== fault.key);
      this.#missed.set(child.id, chosen.includes(fault.key) ? others : [...chosen, fault.key]);
      this.draw();
      // The buttons are new: a keyboard user goes on from the same one.
      this.#seen.querySelector(`[data-fault="${fault.key}"]`)?.focus();
    };
    const element = button(isStop ? "btn heed" : "btn", oncePerGesture(toggle), fault.sees);
    element.setAttribute("aria-pressed", chosen.includes(fault.key));
    element.dataset.fault = fault.key;
    return element;
  }

  #logAll() {
    closeSheet();
    const outcomes = this.#children.map((child) => [child, outcomeOf(this.#missed.get(child.id))]);
    logTurns(this.#drill, outcomes);
  }
}

/* As when a turn is logged by itself: no faults are written where none was said. */
function outcomeOf(faults) {
  if (faults === undefined) return { clean: true };
  return faults.length ? { clean: false, faults } : { clean: false };
}

function leftOutSentence(children) {
  return sayCount("left-out", children.length, { names: joinList(children.map(({ name }) => name)) });
}
