/* The bar at the top: which class this is, and which lines are not sent yet. */

import { sendNow, sendOthers } from "../entry/actions.js";
import { isRefused, isWaiting, presentChildren } from "../rules/reading.js";
import { groupOf } from "../sending/sender.js";
import { showWaiting } from "../sending/waiting.js";
import { changed, signInAddress, state } from "../state.js";
import { ownerFromCookie } from "../store/packs.js";
import { button, byId, fillWith, make, setText } from "./dom.js";
import { clockTime, joinList, say, sayCount, titleOf } from "./words.js";

// A line may be on its way for so long, in milliseconds, before the bar asks for attention.
const ON_ITS_WAY = 4_000;

let drawn = "";
let titledMeeting = null;
let redrawTimer = null;

export function drawBar(now) {
  const { meeting } = state.pack;
  if (titledMeeting !== meeting) {
    titledMeeting = meeting;
    const title = titleOf(meeting);
    document.title = title;
    setText(byId("title"), title);
  }
  setText(byId("signed-in"), `${state.pack.me.name} · `);
  setText(byId("here-count"), sayCount("here-count", presentChildren(state.pack, now).length));
}

/* Also drawn when the class itself could not be fetched: lines may wait from before. */
export function drawSendingStatus() {
  const records = [...state.records.values()];
  const me = state.pack?.me.id ?? ownerFromCookie();
  const waiting = records.filter(isWaiting);
  const own = me === null ? waiting : waiting.filter((record) => record.author === me);
  const others = me === null ? [] : waiting.filter((record) => record.author !== me);
  const refused = records.filter(isRefused).length;
  const troubles = [own, others].map(troubleOf);
  const calm = isCalm(own, troubles[0]);
  const ids = own.map(({ id }) => id);
  const onlyHere = state.store.onlyInMemory().length;
  const now = JSON.stringify([ids, calm, others.length, refused, troubles, state.store.durable, onlyHere]);
  if (now === drawn) return;
  drawn = now;
  const parts = [];
  if (own.length) parts.push(waitingPart(own, calm, troubles[0]));
  if (refused) parts.push(button("btn heed", showWaiting, sayCount("need-a-look", refused)));
  if (others.length) parts.push(othersPart(others, troubles[1]));
  if (!state.store.durable)
    parts.push(make("p", { class: "kept-note" }, onlyHere ? sayCount("only-here", onlyHere) : say("not-on-disk")));
  if (parts.length === 0) parts.push(make("p", { class: "kept-none" }, say("all-sent")));
  fillWith(byId("kept"), parts);
}

/* Why these lines wait: nothing can be sent now, or not these. */
function troubleOf(records) {
  const held = records.map((record) => heldBack(record)).find((trouble) => trouble);
  return state.linkTrouble ?? held ?? null;
}

function heldBack(record) {
  return state.heldBack.get(groupOf(record)) ?? state.heldBack.get(record.id);
}

/* Lines of somebody else: whoever is signed in may send them. */
function othersPart(others, trouble) {
  const since = oldestTime(others);
  const names = new Set(others.map(({ author }) => state.names[author] ?? say("somebody-else")));
  const sentence = sayCount("others-wait", others.length, { since, whose: joinList([...names]) });
  const refused = trouble === "not-yours";
  const why = refused ? "others-not-yours" : (trouble ?? "others-send");
  const act = refused ? showWaiting : sendOthers;
  return button("btn waiting", act, make("span", {}, sentence), make("small", {}, say(why)));
}

function oldestTime(records) {
  return clockTime(Math.min(...records.map((record) => record.at)));
}

/* Nothing has waited for long and there is no trouble. */
function isCalm(own, trouble) {
  clearTimeout(redrawTimer);
  if (own.length === 0 || trouble) return false;
  const age = Date.now() - Math.min(...own.map((record) => record.at));
  if (age < ON_ITS_WAY) redrawTimer = setTimeout(changed, ON_ITS_WAY - age);
  return age < ON_ITS_WAY;
}

function waitingPart(own, calm, trouble) {
  const since = oldestTime(own);
  const allTurns = own.every((record) => record.line.kind === "turn");
  const sentence = sayCount(allTurns ? "turns-kept" : "lines-kept", own.length, { since });
  if (trouble === "sign-in") {
    return make(
      "a",
      { class: "btn act", href: signInAddress() },
      sayCount(allTurns ? "sign-in-turns" : "sign-in-lines", own.length),
    );
  }
  const why = trouble ? make("small", {}, say(trouble)) : null;
  const open = trouble ? showWaiting : sendNow;
  return button(calm ? "btn waiting calm" : "btn waiting", open, make("span", {}, sentence), why);
}
