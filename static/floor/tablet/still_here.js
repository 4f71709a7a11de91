/* A shared tablet that nobody has touched for a while asks who is at it before the next entry. What
   was tapped is kept until that is answered, also through a change-over. Nothing that is urgent is
   asked: after a fall, something hurts, a turn that was not clean, more support. */

import { childName, drillName } from "../drawing/code_names.js";
import { button, byId, make } from "../drawing/dom.js";
import { say } from "../drawing/words.js";
import { chooseDrill } from "../entry/actions.js";
import { areAt, drillFor } from "../entry/apart.js";
import { choices, closeSheet, openSheet } from "../entry/sheets.js";
import { meeting, returnAddress, state } from "../state.js";
import { ownerFromCookie } from "../store/packs.js";

const ASKED_BEFORE = ".tile-main, #way, #undo, .roll-child, #everybody, #nobody";
const MINUTE = 60_000;
// What was tapped is offered to whoever takes over for so long.
const OFFERED_FOR = 15 * MINUTE;
// The time of the last touch is written to the disk at most this often (ms).
const BETWEEN_SAVES = 20_000;

let last = { wall: Date.now(), mono: performance.now() };
let savedAt = -Infinity;
let asks = false;

/* A page that is opened again goes on from the last touch of the same person. */
export async function prepareStillHere() {
  const stored = await state.store.fact("touched");
  if (stored && stored.by === ownerFromCookie()) last = { wall: stored.at, mono: -Infinity };
  for (const kind of ["pointerdown", "keydown"]) document.addEventListener(kind, noticeTouch, true);
  document.addEventListener("click", askFirst, true);
}

function noticeTouch() {
  const shared = state.pack?.tablet?.idle_minutes;
  const now = { wall: Date.now(), mono: performance.now() };
  const mono = last.mono === -Infinity ? 0 : now.mono - last.mono;
  if (shared && Math.max(now.wall - last.wall, mono) > shared * MINUTE) asks = true;
  last = now;
  if (!shared || now.mono - savedAt < BETWEEN_SAVES) return;
  savedAt = now.mono;
  state.store.setFact("touched", { at: now.wall, by: state.pack.me.id });
}

function askFirst(event) {
  const target = asks ? event.target.closest(ASKED_BEFORE) : null;
  if (!target) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  keepMeant(target);
  const { me, tablet } = state.pack;
  const others = tablet.people.filter(({ id }) => id !== me.id);
  const goOn = () => {
    asks = false;
    state.store.setFact("meant", null);
    closeSheet();
    target.click();
  };
  openSheet(
    say("still", me),
    make("p", { class: "big" }, say("still-why")),
    choices("", button("btn act", goOn, say("still-yes", me))),
    choices("", others.map(changeOverLink)),
  );
}

function changeOverLink({ id, name }) {
  const query = new URLSearchParams({ who: id, next: returnAddress() });
  const { pathname } = byId("change-over");
  return make("a", { class: "btn", href: `${pathname}?${query}` }, say("still-other", { name }));
}

/* Of a child: whose, and at which drill. Another tap has nothing in it that could be lost. */
function keepMeant(target) {
  const id = target.closest(".tile")?.dataset.child;
  const at = Date.now();
  if (id) state.store.setFact("meant", { meeting, child: id, drill: drillFor({ id }).key, by: state.pack.me.id, at });
}

/* After a change-over: whoever is here now says whether it is theirs. */
export async function offerMeant() {
  const meant = await state.store.fact("meant");
  if (!meant || meant.meeting !== meeting || meant.by === state.pack.me.id || state.view !== "floor") return;
  if (Date.now() - meant.at > OFFERED_FOR) return;
  const done = () => {
    state.store.setFact("meant", null);
    closeSheet();
  };
  const log = () => {
    done();
    if (!areAt([meant.child], meant.drill)) chooseDrill(meant.drill);
    document.querySelector(`[data-child="${meant.child}"] .tile-main`)?.click();
  };
  openSheet(
    say("change-over"),
    make("p", { class: "big" }, say("meant", { what: `${childName(meant.child)}, ${drillName(meant.drill)}` })),
    choices("", button("btn act", log, say("meant-log")), button("btn", done, say("meant-leave"))),
  );
}
