/* On a shared tablet another coach takes over by PIN. That needs the network: the PIN is not
   stored here. What the first coach logged stays on the tablet until it is sent. */

import { byId, make, setHidden } from "../drawing/dom.js";
import { say } from "../drawing/words.js";
import { openSheet } from "../entry/sheets.js";
import { returnAddress, state } from "../state.js";

// How long to wait for the server, in milliseconds.
const TIMEOUT = 5_000;

export function prepareChangeOver() {
  byId("change-over").addEventListener("click", openChangeOver);
}

/* Only where a director has enrolled the tablet; the pack says so. */
export function drawChangeOver() {
  const link = byId("change-over");
  const search = `?${new URLSearchParams({ next: returnAddress() })}`;
  if (link.search !== search) link.search = search;
  setHidden(link, !state.pack.tablet);
}

async function openChangeOver(event) {
  event.preventDefault();
  const { href } = event.currentTarget;
  if (await isReachable(href)) location.assign(href);
  else openSheet(say("change-over"), make("p", { class: "big" }, say("change-over-offline")));
}

async function isReachable(address) {
  try {
    const signal = AbortSignal.timeout(TIMEOUT);
    await fetch(address, { method: "HEAD", cache: "no-store", redirect: "manual", signal });
    return true;
  } catch {
    return false;
  }
}
