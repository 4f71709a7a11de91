/* A turn whose faults are being picked is a draft of the page on which it was tapped. When that
   page is gone, by a reload or with its tab, it is final; a page that is open in another tab holds
   a lock of its name, and its drafts are its own. */

import { page } from "../sending/clock.js";

export function lockDrafts() {
  navigator.locks?.request(nameOf(page), () => new Promise(() => {}));
}

/* Of these records: the drafts whose page is gone, and whether others are still open. */
export async function abandonedDrafts(records) {
  const drafts = records.filter(({ draft, line }) => draft && line.page !== page);
  if (drafts.length === 0) return { left: [], open: false };
  const pages = await openPages();
  const left = drafts.filter(({ line }) => !pages.has(line.page));
  return { left, open: left.length < drafts.length };
}

/* The names of the pages that are open in this browser; none where it cannot tell. */
export async function openPages() {
  if (!navigator.locks) return new Set();
  const { held } = await navigator.locks.query();
  return new Set(held.map(({ name }) => name.slice(nameOf("").length)));
}

function nameOf(ofPage) {
  return `floor-page-${ofPage}`;
}
