/* The figure of a graded drill on its station's card, with words for what it shows; without scripts
   the card has none. */

import { drawPoses } from "./poses.js";

for (const place of document.querySelectorAll("[data-angles]")) {
  const [figure] = drawPoses({ poses: [{ angles: JSON.parse(place.dataset.angles) }] });
  if (figure) {
    figure.removeAttribute("aria-hidden");
    figure.setAttribute("role", "img");
    figure.setAttribute("aria-label", place.dataset.shows);
    place.append(figure);
  }
}
