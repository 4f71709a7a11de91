/* The bar at the top: whose class this is, and what is kept here and not sent yet. */

import { lines, sendNow } from "./actions.js";
import { byId, button, fillWith, make } from "./dom.js";
import { isRefused, isWaiting, presentChildren } from "./reading.js";
import { showWaiting } from "./sheets.js";
import { changed, state } from "./state.js";
import { clockTime, say, sayCount, weekdayOf } from "./words.js";

// For so long a line may be on its way, in milliseconds, before the bar calls for a look.
const ON_ITS_WAY = 4_000;

let drawn = "";
let nextLook = null;

export function drawBar() {
  const { meeting } = state.pack;
  const title = say("title", {
    weekday: weekdayOf(meeting.date),
    time: meeting.starts_at,
    group: meeting.group,
  });
  byId("title").textContent = title;
  document.title = title;
  byId("here-count").textContent = sayCount("here-count", presentChildren(state.pack, lines()).length);
}

/* Also drawn when the class itself could not be fetched: lines may wait from before. */
export function drawKept() {
  const records = [...state.records.values()];
  const me = state.pack?.me.id ?? null;
  const waiting = records.filter(isWaiting);
  const own = me === null ? waiting : waiting.filter((record) => record.author === me);
  const others = waiting.length - own.length;
  const refused = records.filter(isRefused).length;
  const calm = isCalm(own);
  const ids = own.map(({ id }) => id);
  const now = JSON.stringify([ids, calm, others, refused, state.linkTrouble, state.box.durable]);
  if (now === drawn) return;
  drawn = now;
  const parts = [];
  if (own.length) parts.push(waitingPart(own, calm));
  if (refused) parts.push(button("btn heed", showWaiting, sayCount("need-a-look", refused)));
  if (others) parts.push(make("p", { class: "kept-note" }, sayCount("others-wait", others)));
  if (!state.box.durable) parts.push(make("p", { class: "kept-note" }, say("not-on-disk")));
  if (parts.length === 0) parts.push(make("p", { class: "kept-none" }, say("all-sent")));
  fillWith(byId("kept"), parts);
}

/* Nothing waits for long and nothing is in the way. */
function isCalm(own) {
  clearTimeout(nextLook);
  if (own.length === 0 || state.linkTrouble) return false;
  const age = Date.now() - Math.min(...own.map((record) => record.at));
  if (age < ON_ITS_WAY) nextLook = setTimeout(changed, ON_ITS_WAY - age);
  return age < ON_ITS_WAY;
}

function waitingPart(own, calm) {
  const since = clockTime(Math.min(...own.map((record) => record.at)));
  const allTurns = own.every((record) => record.line.kind === "turn");
  const sentence = sayCount(allTurns ? "turns-kept" : "lines-kept", own.length, { since });
  if (state.linkTrouble === "sign-in") {
    return make(
      "a",
      { class: "btn act", href: signInAddress() },
      sayCount(allTurns ? "sign-in-turns" : "sign-in-lines", own.length),
    );
  }
  const why = state.linkTrouble ? make("small", {}, say(state.linkTrouble)) : null;
  const open = state.linkTrouble ? showWaiting : sendNow;
  return button(calm ? "btn waiting calm" : "btn waiting", open, make("span", {}, sentence), why);
}

export function signInAddress() {
  const next = encodeURIComponent(location.pathname);
  return `${document.documentElement.dataset.signIn}?next=${next}`;
}
