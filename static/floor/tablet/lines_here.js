/* How many lines wait on this tablet to be sent, and whose they are. */

import { namesOf } from "../store/packs.js";

/* "" if none waits. The words are in the data of an element. */
export async function linesHere(store, { waiting, somebody }) {
  const counts = new Map();
  for (const { author, answer } of await store.all()) {
    if (answer === null) counts.set(author, (counts.get(author) ?? 0) + 1);
  }
  const names = await namesOf(store);
  const parts = [...counts].map(([author, count]) => `${names[author] ?? somebody} ${count}`);
  return parts.length ? `${waiting} ${parts.join(", ")}.` : "";
}

/* In the element of the page that is for it, if there is one. */
export async function showLinesHere(store) {
  const element = document.getElementById("lines-here");
  if (!element) return;
  element.textContent = await linesHere(store, element.dataset);
  element.hidden = element.textContent === "";
}
