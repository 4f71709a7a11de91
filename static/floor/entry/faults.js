/* The faults of a turn that was just logged. The panel lies over the choice of drills, never
   over a child, and goes when the next child is tapped. */

import { childName } from "../drawing/code_names.js";
import { button, byId, fillWith, hideOverflow, make } from "../drawing/dom.js";
import { joinList, say } from "../drawing/words.js";
import * as reading from "../rules/reading.js";
import { state } from "../state.js";
import { closeDraft, lines, reportPain, restartDraftTimer, setFaults, strike } from "./actions.js";
import { outcomeOf } from "./sheets.js";

const HANDS_ON = 3;
// For more there is no room; the drill's card has them all.
const MENDS_SHOWN = 2;

let shownId = null;
let focusBefore = null;

export function prepareFaults() {
  const panel = byId("faults");
  panel.addEventListener("keydown", (event) => {
    restartDraftTimer();
    if (event.key === "Escape") closeDraft();
  });
  addEventListener("resize", () => {
    if (!shownId) return;
    fitRows();
    drawFaults();
  });
}

export function drawFaults() {
  const panel = byId("faults");
  const record = state.records.get(state.draft);
  if (!record) {
    if (shownId) {
      panel.hidden = true;
      shownId = null;
      if (focusBefore?.isConnected && panel.contains(document.activeElement)) focusBefore.focus();
    }
    return;
  }
  if (shownId !== record.id) buildPanel(panel, record);
  updatePanel(panel, record);
}

function buildPanel(panel, { id, line }) {
  shownId = id;
  focusBefore = document.activeElement;
  const drill = reading.drillOf(state.pack, line.drill);
  const before = turnsBefore(line);
  const stops = drill.faults.filter((fault) => reading.isStop(fault, line.support, before));
  const others = drill.faults.filter((fault) => !stops.includes(fault));
  const caught = drill.support_logged ? [button("fault caught", () => toggleCaught(), say("caught"))] : [];
  const more = button("btn more", showAll, say("more-faults"));
  panel.classList.remove("whole");
  panel.hidden = false;
  fillWith(
    panel,
    make(
      "div",
      { class: "faults-head" },
      make("h2", { id: "faults-title" }),
      make("p", { class: "faults-then", role: "status" }),
      make("p", { class: "faults-label" }, say("stop-signs")),
    ),
    make("div", { class: "faults-row" }, others.map(faultButton)),
    make(
      "div",
      { class: "faults-row stops", role: "group", "aria-label": say("stop-signs") },
      button("btn act head-question", pauseForHead, say("head-question")),
      caught,
      stops.map(faultButton),
    ),
    make(
      "div",
      { class: "faults-ends" },
      more,
      button("btn", () => strike(id, "wrong-tap"), say("take-back")),
      button("btn act", () => closeDraft(), say("done")),
    ),
  );
  fitRows();
  // A keyboard user goes on by keyboard.
  if (focusBefore?.matches(":focus-visible")) panel.querySelector(".fault")?.focus();
}

function showAll() {
  const panel = byId("faults");
  panel.classList.add("whole");
  for (const one of panel.querySelectorAll(".fault")) one.hidden = false;
}

/* "More" is shown only if something is out of sight. */
function fitRows() {
  const panel = byId("faults");
  if (panel.classList.contains("whole")) return;
  const hidden = [...panel.querySelectorAll(".faults-row")].map(hideOverflow).includes(true);
  panel.querySelector(".more").hidden = !hidden;
}

function faultButton(fault) {
  const toggle = () => {
    const { line } = state.records.get(shownId);
    const chosen = line.faults ?? [];
    const faults = chosen.includes(fault.key) ? chosen.filter((key) => key !== fault.key) : [...chosen, fault.key];
    setFaults(faults, line.caught ?? false);
  };
  const one = button("fault", toggle, make("span", {}, fault.sees));
  one.dataset.fault = fault.key;
  return one;
}

function toggleCaught() {
  const { line } = state.records.get(shownId);
  setFaults(line.faults ?? [], !line.caught);
}

function updatePanel(panel, { line }) {
  const drill = reading.drillOf(state.pack, line.drill);
  byId("faults-title").textContent = say("turn-of", {
    name: childName(line.child),
    outcome: outcomeOf(line),
  });
  for (const one of panel.querySelectorAll(".fault")) {
    const { fault } = one.dataset;
    const chosen = fault ? (line.faults ?? []).includes(fault) : line.caught === true;
    one.setAttribute("aria-pressed", chosen);
  }
  const then = panel.querySelector(".faults-then");
  const sentence = consequence(drill, line);
  if (then.textContent !== sentence) then.textContent = sentence;
  then.classList.toggle("heed", reading.hasStop(state.pack, line, turnsBefore(line)));
  const asks = reading.asksAboutHead(state.pack, line) && !reading.isPaused(state.pack, childOf(line), lines());
  panel.querySelector(".head-question").hidden = !asks;
}

function consequence(drill, line) {
  const { pack } = state;
  const child = childOf(line);
  if (reading.isNotBegun(pack, line)) return say("stopping-is-right", { name: child.name });
  if (!reading.hasStop(pack, line, turnsBefore(line))) return say("what-was-seen");
  if (reading.isPaused(pack, child, lines())) return say("head-paused", { name: child.name });
  const open = reading.openMends(pack, child, line, lines());
  const mends = open.slice(0, MENDS_SHOWN).map((mend) => mend.name);
  const now = reading.supportNow(pack, child, drill, line.surface, lines());
  const after = reading.endsBackward(pack, line) ? say("stop-backward") : stopSentence(drill, now);
  return mends.length ? `${after} ${say("mend-now", { drills: joinList(mends) })}` : after;
}

function stopSentence(drill, { support, causes }) {
  if (causes.includes("finished-tonight")) return say("stop-finished");
  return say(drill.support_logged && support === HANDS_ON ? "stop-hands-on" : "stop-seen");
}

/* A blow to the head pauses the child at once. */
function pauseForHead() {
  reportPain(childOf(state.records.get(shownId).line), "head");
}

function childOf(line) {
  return state.pack.children.find((one) => one.id === line.child);
}

function turnsBefore(line) {
  const turns = reading.turnsToday(childOf(line), line.drill, lines());
  return turns.slice(
    0,
    turns.findIndex((turn) => turn.id === line.id),
  );
}
