/* The figures of grades on a page, a list of them at a time; without scripts the words stand alone.
   A list says where its poses are: data-poses is the id of a rubric as JSON. */

import { drawPoses } from "./poses.js";

for (const list of document.querySelectorAll("[data-poses]")) {
  const rubric = JSON.parse(document.getElementById(list.dataset.poses).textContent);
  for (const [at, figure] of drawPoses({ poses: rubric.pose }).entries()) {
    if (figure) list.children[at].prepend(figure);
  }
}
