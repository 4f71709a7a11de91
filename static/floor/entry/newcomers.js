/* A child who came and is not on the list: found among those of the hall and let in for tonight, or
   put down as a new one whom the desk names later. Both need a network. */

import { button, byId, fillWith, make } from "../drawing/dom.js";
import { say } from "../drawing/words.js";
import { postJson } from "../sending/answers.js";
import { uuid7 } from "../sending/uuid7.js";
import { address, meeting, state } from "../state.js";
import { recordAttendance } from "./actions.js";
import { choices, closeSheet, openSheet } from "./sheets.js";
import { oncePerGesture } from "./taps.js";

const WHY = ["make-up", "trial", "sibling"];
const KNOWN_ANSWERS = [403, 404];

/* fetchPack(): the class anew, true if it came. */
export function prepareNewcomers(fetchPack) {
  byId("not-listed").addEventListener("click", () => openSearch(fetchPack));
}

function openSearch(fetchPack) {
  // Made once: a second tap after a lost answer means the same child.
  const id = uuid7();
  const box = make("input", { id: "not-listed-name", type: "search", autocomplete: "off", maxlength: 120 });
  const found = make("div", { class: "options", role: "status" });
  const find = async (event) => {
    event.preventDefault();
    const answer = await call("search", { q: box.value }, found);
    if (answer) drawFound(found, answer.children, fetchPack);
  };
  const addNew = oncePerGesture(() => letIn("new-child", { id }, found, fetchPack));
  openSheet(
    say("not-listed-title"),
    make(
      "form",
      { class: "find", on: { submit: find } },
      make("label", { for: "not-listed-name" }, say("not-listed-name")),
      box,
      make("button", { type: "submit", class: "btn act" }, say("not-listed-find")),
    ),
    make("p", {}, say("not-listed-how")),
    found,
    make("h3", {}, say("not-listed-new")),
    make("p", {}, say("not-listed-new-how")),
    choices("", button("btn", addNew, say("not-listed-new"))),
  );
  box.focus();
}

function drawFound(found, children, fetchPack) {
  if (children.length === 0) return fillWith(found, make("p", {}, say("not-listed-none")));
  const rows = children.map(({ id, name, age, group }) => {
    const words = say("not-listed-child", { name, age: age ?? "?", group });
    return button("btn", () => askWhy(id, name, fetchPack), words);
  });
  return fillWith(found, rows);
}

function askWhy(child, name, fetchPack) {
  const trouble = make("div", { role: "status" });
  const reasons = WHY.map((why) =>
    button(
      "btn",
      oncePerGesture(() => letIn("visit", { child, why }, trouble, fetchPack)),
      say(`not-listed-${why}`),
    ),
  );
  openSheet(say("not-listed-why", { name }), choices("", reasons), trouble);
}

/* On the list, and here. */
async function letIn(what, body, trouble, fetchPack) {
  const answer = await call(what, body, trouble);
  if (!answer) return;
  await fetchPack();
  const child = state.pack.children.find((one) => one.id === answer.child);
  if (child) await recordAttendance([child], true);
  closeSheet();
}

/* The data of the answer; or null, and the trouble is shown. */
async function call(what, body, trouble) {
  const answer = await postJson(address(meeting, what), body);
  if (answer?.status === 200 && answer.data) return answer.data;
  const code = KNOWN_ANSWERS.includes(answer?.status) ? answer.status : "no-answer";
  fillWith(trouble, make("p", { class: "big" }, say(`not-listed-${code}`)));
  return null;
}
