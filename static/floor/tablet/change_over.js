/* On a shared tablet another coach takes over by PIN. That needs the network: the PIN is not
   kept here. Whatever the first coach logged stays in the box. */

import { byId, make } from "../drawing/dom.js";
import { say } from "../drawing/words.js";
import { openSheet } from "../entry/sheets.js";
import { state } from "../state.js";

// For so long the server may take to say anything, in milliseconds.
const PATIENCE = 5_000;

export function prepareChangeOver() {
  const link = byId("change-over");
  link.search = new URLSearchParams({ next: location.pathname });
  link.addEventListener("click", leave);
}

/* Only where a director has enrolled the tablet; the pack says so. */
export function drawChangeOver() {
  byId("change-over").hidden = !state.pack.tablet;
}

async function leave(event) {
  event.preventDefault();
  const { href } = event.currentTarget;
  if (await isReachable(href)) location.assign(href);
  else openSheet(say("change-over"), make("p", { class: "big" }, say("change-over-offline")));
}

async function isReachable(address) {
  try {
    const signal = AbortSignal.timeout(PATIENCE);
    await fetch(address, { method: "HEAD", cache: "no-store", redirect: "manual", signal });
    return true;
  } catch {
    return false;
  }
}
