/* A drill's card: how it is set up, what counts, what can be seen, where the hands are. Its texts
   came with the pack, so it opens without a network. */

import { state } from "../state.js";
import { make } from "./dom.js";
import { drawPoses } from "./poses.js";
import { say } from "./words.js";

export function drawCard(drill) {
  return make("div", { class: "drill-card" }, sectionsOf(drill).map(drawSection), grades(drill), faults(drill));
}

/* A class that was kept by an older page has the cues alone. */
function sectionsOf(drill) {
  return drill.card ?? [{ heading: say("card-cues"), says: [drill.cues.join(" · ")] }];
}

function drawSection({ heading, says }) {
  return make(
    "section",
    {},
    make("h3", {}, heading),
    says.map((text) => make("p", {}, text)),
  );
}

function grades(drill) {
  if (!drill.rubric) return null;
  const figures = drawPoses(drill.rubric);
  const poses = drill.rubric.poses.map((pose, at) =>
    make(
      "div",
      { class: "pose" },
      figures[at],
      make("strong", {}, say("grade-number", { n: pose.grade })),
      make("span", { class: "words" }, pose.words),
      pose.also ? make("span", { class: "also" }, pose.also) : null,
    ),
  );
  return make("section", {}, make("h3", {}, drill.rubric.view), make("div", { class: "options poses" }, poses));
}

function faults(drill) {
  const texts = state.pack.fault_texts ?? {};
  if (drill.faults.length === 0) return null;
  const rows = drill.faults.map((fault) =>
    make(
      "li",
      {},
      make("strong", {}, fault.sees),
      (texts[fault.key] ?? []).map((text) => make("p", {}, text)),
    ),
  );
  return make("section", {}, make("h3", {}, say("card-faults")), make("ul", { class: "card-faults" }, rows));
}
