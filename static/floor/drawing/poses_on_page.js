/* The figures of a drill's grades on its page; without scripts the words stand alone. */

import { drawPoses } from "./poses.js";

const rubric = JSON.parse(document.getElementById("rubric").textContent);
const figures = drawPoses({ poses: rubric.pose });
const places = document.getElementById("poses").children;
for (const [at, figure] of figures.entries()) {
  if (figure) places[at].prepend(figure);
}
