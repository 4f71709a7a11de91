/* A note in one's own words, beside the list of ready ones. Nothing waits for it; half typed, it is
   kept as what is open on this page. */

import { button, make } from "../drawing/dom.js";
import { say } from "../drawing/words.js";
import { keepNote } from "../sending/notes.js";
import { readyNotes } from "./note.js";
import { keepOpen } from "./open_entry.js";
import { closeSheet, openSheet } from "./sheets.js";

const LONGEST = 200;

export function openNote(child, typed = "") {
  const field = make("textarea", { id: "note-text", rows: 3, maxlength: LONGEST });
  field.value = typed;
  const remember = () => keepOpen({ kind: "note", child: child.id, typed: field.value });
  field.addEventListener("input", remember);
  const keep = async () => {
    const text = field.value.trim();
    if (text === "") return field.focus();
    await keepNote(child, text);
    closeSheet();
  };
  openSheet(
    say("note-of", { name: child.name }),
    make("p", {}, say("note-what")),
    readyNotes(child, null, closeSheet),
    make("label", { for: "note-text" }, say("note-typed")),
    field,
    make("div", { class: "options" }, button("btn act", keep, say("note-keep"))),
  );
  remember();
}
