/* After a reload, the entry that was open is opened again. */

import { byId } from "../drawing/dom.js";
import { drillOf } from "../rules/reading.js";
import { state } from "../state.js";
import { areAt } from "./apart.js";
import { openNumberPad } from "./number_pad.js";
import { takeUpEntry } from "./open_entry.js";
import { openRepCounter } from "./rep_counter.js";
import { openGrades } from "./sheets.js";
import { openNote } from "./typed_note.js";
import { openWholeLine } from "./whole_line.js";

// The page before this one may take a moment to be gone: look again so often and so long (ms).
const AGAIN = 500;
const LONGEST = 5_000;

export async function takeUp() {
  if (byId("sheet").open) return;
  const nothingElse = await takeUpEntry(reopen);
  if (!nothingElse && performance.now() < LONGEST) setTimeout(takeUp, AGAIN);
}

const OPENERS = {
  reps: ({ child, drill }) => openRepCounter(child, drill),
  number: ({ child, drill, typed }) => openNumberPad(child, drill, typed),
  grade: ({ child, drill }) => openGrades(child, drill),
  // A page of an earlier release kept ids alone.
  line: ({ missed }) => openWholeLine(missed.map((each) => (Array.isArray(each) ? each : [each, []]))),
  note: ({ child, typed }) => openNote(child, typed),
};

function reopen(entry) {
  const drill = drillOf(state.pack, entry.drill);
  const child = state.pack.children.find(({ id }) => id === entry.child);
  // The class or the ladder may have changed since.
  if ((entry.drill && !drill) || (entry.child && !child)) return;
  if (drill && !areAt([entry.child], drill.key)) state.drill = drill.key;
  OPENERS[entry.kind]?.({ ...entry, drill, child });
}
