/* A note on a child or on a turn: one tap from the studio's list. */

import { button, make } from "../drawing/dom.js";
import { say } from "../drawing/words.js";
import { keepNote } from "../sending/notes.js";
import { state } from "../state.js";

/* "turn": its id, or null; "then" is called once the note is on the disk. A class that an older page
   kept has no list. */
export function readyNotes(child, turn, then) {
  const ready = state.pack.ready_notes ?? [];
  if (ready.length === 0) return null;
  const options = ready.map((text) => {
    const tap = async () => {
      await keepNote(child, text, turn);
      then();
    };
    return button("btn", tap, text);
  });
  const list = make("div", { class: "options children" }, options);
  return make("section", {}, make("h3", {}, say("note-on")), list);
}
