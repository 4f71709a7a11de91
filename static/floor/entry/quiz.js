/* The way to the quiz: for everybody at this tablet's line who may do the drill. */

import { make } from "../drawing/dom.js";
import { say } from "../drawing/words.js";
import { fetchMore } from "../on_demand.js";
import * as reading from "../rules/reading.js";
import { state } from "../state.js";
import { childrenShown, lines, logTurns } from "./actions.js";
import { isWithLine } from "./apart.js";
import { openSurfaces } from "./hall.js";
import { openSheet } from "./sheets.js";

// The drill by its lasting name: what is asked belongs to it.
export const QUIZ_DRILL = "name-the-shape";

export async function startQuiz() {
  if (state.surface === null) return openSurfaces();
  const drill = reading.drillOf(state.pack, state.drill);
  const { ready } = reading.presentByReadiness(state.pack, drill, state.surface, lines());
  const children = childrenShown().filter((child) => ready.includes(child) && isWithLine(child));
  const refuse = (why) => openSheet(say("quiz-line"), make("p", { class: "big" }, why));
  if (children.length === 0) return refuse(say("nobody-ready"));
  try {
    await fetchMore();
    const { openQuiz } = await import("../quiz/quiz.js");
    openQuiz({ children, log: (child, value) => logTurns(drill, [[child, { value }]]) });
  } catch {
    refuse(say("not-fetched"));
  }
}
