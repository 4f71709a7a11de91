/* A class of an earlier day says so across the page. It leads to today's, and takes a late turn only
   after a tap that names its day. */

import { showFall } from "../entry/fall.js";
import { changed, state, tonightAddress } from "../state.js";
import { isOver } from "../store/packs.js";
import { button, byId, fillWith, make, setHidden } from "./dom.js";
import { dayOf, say, weekdayOf } from "./words.js";

let drawn = "";

/* A page that stays open overnight finds out by itself. */
export function noticeEndOfDay() {
  const { pack } = state;
  if (pack && !pack.over && isOver({ at: state.packAt, pack })) state.pack = { ...pack, over: true };
}

/* Over, and nobody has said that late turns are meant. */
export function isClosed() {
  return Boolean(state.pack?.over) && !state.logsLate;
}

export function drawOver() {
  const { over, meeting, tonight = [] } = state.pack;
  setHidden(byId("over"), !over);
  const now = JSON.stringify([over, state.logsLate, meeting.date, tonight]);
  if (!over || now === drawn) return;
  drawn = now;
  const values = { weekday: weekdayOf(meeting.date), date: dayOf(meeting.date) };
  byId("over").dataset.closed = isClosed();
  fillWith(
    byId("over"),
    make("p", { class: "big" }, say(state.logsLate ? "over-logging" : "over", values)),
    isClosed() ? make("p", {}, say("over-what")) : null,
    tonight.map(openButton),
    make("a", { class: "btn", href: tonightAddress() }, say("over-list")),
    isClosed() ? button("btn", logLate, say("over-log", values)) : null,
    isClosed() ? button("btn heed", showFall, say("after-a-fall")) : null,
  );
}

function logLate() {
  state.logsLate = true;
  changed();
}

/* Opening a meeting is a post. */
function openButton({ group, open }) {
  const name = document.documentElement.dataset.tokenCookie;
  const act = () => {
    const value = document.cookie.match(`(?:^|; )${name}=([^;]+)`)?.[1] ?? "";
    const token = make("input", { type: "hidden", name: "csrfmiddlewaretoken", value });
    const form = make("form", { method: "post", action: open, hidden: true }, token);
    document.body.append(form);
    form.submit();
  };
  return button("btn act", act, say("over-tonight", { group }));
}
