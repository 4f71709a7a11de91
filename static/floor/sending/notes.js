/* Notes on what was seen. They are no lines: each waits on this tablet's disk by itself, goes to the
   desk by its own call while whoever wrote it is signed in, and is in no saved file. */

import { address, changed, meeting, state } from "../state.js";
import { ownerFromCookie } from "../store/packs.js";
import { readCookie, readJson } from "./answers.js";
import { uuid7 } from "./uuid7.js";

const NOTE = "note ";
const TIMEOUT = 20_000;
// As many as one call may carry.
const AT_ONCE = 50;

// Written on this page and not taken yet, by id: a browser may lose its store under a living page.
const own = new Map();
let sending = false;
// Asked to send while sending: a note may have been passed over.
let askedMeanwhile = false;

/* Resolves when the note is on the disk or, if that fails, in this page. "turn": the id of the turn that
   it speaks of, or null. */
export async function keepNote(child, text, turn = null) {
  const id = uuid7();
  const note = { id, meeting, author: state.pack.me.id, child: child.id, turn, text, refused: false };
  own.set(id, note);
  await state.store.setFact(NOTE + id, note);
  await readNotes();
  sendNotes();
}

/* Away from this tablet, after it was not taken. */
export async function dropNote(id) {
  await forget(id);
  await readNotes();
}

function forget(id) {
  own.delete(id);
  return state.store.deleteFacts([NOTE + id]);
}

/* What waits here. What the browser lost of this page's own is written again. */
export async function readNotes() {
  const found = new Map((await state.store.factsNamed(NOTE)).map(({ value }) => [value.id, value]));
  for (const [id, note] of own) {
    if (!found.has(id)) await state.store.setFact(NOTE + id, note);
    found.set(id, note);
  }
  state.notes = [...found.values()];
  changed();
}

/* Those of the person signed in, of each class by itself; what fails waits for the next time. */
export async function sendNotes() {
  askedMeanwhile = sending;
  if (sending) return;
  sending = true;
  try {
    await readNotes();
    const author = ownerFromCookie();
    const mine = state.notes.filter((note) => note.author === author && !note.refused);
    for (const of of new Set(mine.map((note) => note.meeting))) {
      await sendOf(of, mine.filter((note) => note.meeting === of).slice(0, AT_ONCE));
    }
  } catch {
    // No network: the next try is made when it is back.
  } finally {
    sending = false;
  }
  if (askedMeanwhile) await sendNotes();
}

async function sendOf(ofMeeting, notes) {
  const body = { notes: notes.map(({ id, child, turn, text }) => ({ id, child, turn, text })) };
  const response = await fetch(address(ofMeeting, "notes"), {
    method: "POST",
    body: JSON.stringify(body),
    credentials: "same-origin",
    redirect: "manual",
    cache: "no-store",
    signal: AbortSignal.timeout(TIMEOUT),
    headers: {
      Accept: "application/json",
      "Content-Type": "application/json",
      "X-CSRFToken": readCookie(document.documentElement.dataset.tokenCookie),
    },
  });
  const answer = await readJson(response);
  if (response.status !== 200 || !Array.isArray(answer?.kept)) return;
  for (const id of answer.kept) await forget(id);
  for (const note of notes.filter(({ id }) => answer.refused.includes(id))) {
    const refused = { ...note, refused: true };
    if (own.has(note.id)) own.set(note.id, refused);
    await state.store.setFact(NOTE + note.id, refused);
  }
  await readNotes();
}
