/* The page that opens without a network and without a class: it lists the classes that this
   tablet keeps for the person signed in. */

import { byId, fillWith, make } from "../drawing/dom.js";
import { say, weekdayOf } from "../drawing/words.js";
import { address, state } from "../state.js";

export async function showClasses() {
  const kept = await state.box.packs();
  kept.sort((one, other) => (startOf(one) < startOf(other) ? -1 : 1));
  fillWith(byId("classes-list"), kept.map(link));
  byId("classes-none").hidden = kept.length > 0;
  byId("classes").hidden = false;
}

function startOf({ pack }) {
  return `${pack.meeting.date} ${pack.meeting.starts_at} ${pack.meeting.group}`;
}

function link({ pack: { meeting } }) {
  const title = say("title", {
    weekday: weekdayOf(meeting.date),
    time: meeting.starts_at,
    group: meeting.group,
  });
  return make("li", {}, make("a", { class: "btn", href: address(meeting.id) }, title));
}
