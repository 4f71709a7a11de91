/* Who is here: one tap a child. */

import { button, byId, fillWith, make } from "../drawing/dom.js";
import { say, sayCount } from "../drawing/words.js";
import { isPresent, presentChildren } from "../rules/reading.js";
import { changed, state } from "../state.js";
import { lines, recordAttendance } from "./actions.js";
import { oncePerGesture } from "./taps.js";

export function prepareAttendance() {
  byId("everybody").addEventListener("click", () => markAll(true));
  byId("nobody").addEventListener("click", () => markAll(false));
  byId("roll-done").addEventListener("click", () => {
    state.view = "floor";
    changed();
  });
}

function markAll(present) {
  const now = lines();
  const others = state.pack.children.filter((child) => isPresent(child, now) !== present);
  if (others.length) recordAttendance(others, present);
}

export function drawAttendance() {
  const now = lines();
  const grid = byId("roll-grid");
  if (grid.children.length !== state.pack.children.length) {
    fillWith(grid, state.pack.children.map(makeEntry));
  }
  state.pack.children.forEach((child, at) => {
    const present = isPresent(child, now);
    const entry = grid.children[at];
    entry.setAttribute("aria-pressed", present === true);
    entry.dataset.present = present;
    entry.querySelector(".said").textContent = say(present === null ? "not-said" : present ? "here" : "not-here");
  });
  const here = presentChildren(state.pack, now).length;
  byId("roll-done").disabled = here === 0;
  byId("roll-done").textContent = sayCount("roll-done", here);
}

function makeEntry(child) {
  const toggle = () => {
    const current = state.pack.children.find((one) => one.id === child.id);
    recordAttendance([current], isPresent(current, lines()) !== true);
  };
  return button(
    "roll-child",
    oncePerGesture(toggle),
    make("span", { class: "tick", "aria-hidden": "true" }),
    make("span", { class: "name" }, child.name),
    make("span", { class: "said" }),
  );
}
