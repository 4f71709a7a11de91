/* Quiz the line: the tablet is held up, each child answers in turn, one tap says right or wrong. After
   the sixth answer of a child the number that was right is logged. */

import { button, fillWith, make } from "../drawing/dom.js";
import { say, sayCode } from "../drawing/words.js";
import { drawMoment } from "./moments.js";
import { EACH, questionsFor } from "./questions.js";

// A second tap so soon is the same gesture.
const GESTURE = 350;

/* "log" takes a child and how many of the six were right. */
export function openQuiz({ children, log, random = Math.random }) {
  const asked = children.map((child) => ({ child, right: 0, questions: questionsFor(random) }));
  const body = make("div", { class: "sheet-body quiz" });
  const title = make("h2", { id: "quiz-title" });
  const close = button("btn", () => dialog.close(), say("quiz-close"));
  const head = make("div", { class: "sheet-head" }, title, close);
  const dialog = make("dialog", { class: "sheet side-view", "aria-labelledby": "quiz-title" }, head, body);
  let turn = 0;
  let tappedAt = -Infinity;
  dialog.addEventListener("close", () => dialog.remove());
  document.body.append(dialog);
  ask();
  dialog.showModal();

  function answered(isRight) {
    const now = performance.now();
    if (now - tappedAt < GESTURE) return;
    tappedAt = now;
    const one = asked[turn % asked.length];
    if (isRight) one.right += 1;
    turn += 1;
    if (turn > (EACH - 1) * asked.length) log(one.child, one.right);
    if (turn < EACH * asked.length) ask();
    else showEnd();
  }

  function ask() {
    const { child, questions } = asked[turn % asked.length];
    const round = Math.floor(turn / asked.length);
    const { asks, figures, answer, same } = questions[round];
    title.textContent = say("quiz-of", { name: child.name, n: round + 1, all: EACH });
    const drawn = figures.map((figure, at) =>
      make(
        "figure",
        {},
        drawMoment(figure, say("quiz-figure")),
        figures.length > 1 ? make("figcaption", {}, String(at + 1)) : null,
      ),
    );
    fillWith(
      body,
      make("p", { class: "quiz-asks" }, say(`quiz-${asks}`)),
      make("div", { class: "quiz-figures" }, drawn),
      make(
        "p",
        { class: "quiz-answer" },
        same ? say("quiz-same-two", { one: same[0], other: same[1] }) : sayCode("answers", answer),
      ),
      make(
        "div",
        { class: "quiz-taps" },
        button("btn act", () => answered(true), say("quiz-right")),
        button("btn", () => answered(false), say("quiz-wrong")),
      ),
    );
  }

  function showEnd() {
    title.textContent = say("quiz-line");
    const rows = asked.map(({ child, right }) =>
      make("li", {}, say("quiz-result", { name: child.name, n: right, all: EACH })),
    );
    fillWith(body, make("ul", { class: "reasons" }, rows));
  }
}
