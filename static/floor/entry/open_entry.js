/* What is being entered and not logged yet: a count, a typed number, the marks of a line, a grade, a
   note. It is kept on the disk as a draft of this page, without names, and found again by the next
   page of this class and person when this one is gone. It is in no saved file. */

import { page } from "../sending/clock.js";
import { meeting, state } from "../state.js";
import { openPages } from "../store/drafts.js";
import { ENTRY } from "../store/packs.js";

// Repetitions counted so far, by "child drill": also of children whose sheet has been closed.
export const counts = new Map();
// {kind} and what else its sheet needs to be opened again; or null.
let open = null;

export function keepOpen(entry) {
  open = entry;
  save();
}

export function closeEntry() {
  if (open === null) return;
  open = null;
  save();
}

function save() {
  const { store, pack } = state;
  const name = ENTRY + page;
  if (open === null && counts.size === 0) return store.deleteFacts([name]);
  return store.setFact(name, { meeting, author: pack.me.id, at: Date.now(), open, counts: [...counts] });
}

/* What a page that is gone has left open: its counts go on here, and "reopen" is called with the
   newest entry. False if another page that may be theirs is still open. */
export async function takeUpEntry(reopen) {
  const { store, pack } = state;
  const found = (await store.factsNamed(ENTRY)).filter(
    ({ name, value }) => name !== ENTRY + page && value.meeting === meeting && value.author === pack.me.id,
  );
  const pages = await openPages();
  const left = found.filter(({ name }) => !pages.has(name.slice(ENTRY.length)));
  left.sort((one, other) => one.value.at - other.value.at);
  for (const { value } of left) for (const [key, count] of value.counts) counts.set(key, count);
  const newest = left.map(({ value }) => value.open).findLast(Boolean);
  if (newest) reopen(newest);
  if (left.length) {
    save();
    await store.deleteFacts(left.map(({ name }) => name));
  }
  return left.length === found.length;
}
