/* The page that opens without a network and without a class: it lists the classes saved on this
   tablet for the person signed in. */

import { byId, fillWith, make } from "../drawing/dom.js";
import { titleOf } from "../drawing/words.js";
import { address, state } from "../state.js";

export async function showClasses() {
  const saved = await state.store.packs();
  saved.sort((one, other) => (startOf(one) < startOf(other) ? -1 : 1));
  fillWith(byId("classes-list"), saved.map(classLink));
  byId("classes-none").hidden = saved.length > 0;
  byId("classes").hidden = false;
}

function startOf({ pack }) {
  return `${pack.meeting.date} ${pack.meeting.starts_at} ${pack.meeting.group}`;
}

function classLink({ pack: { meeting } }) {
  return make("li", {}, make("a", { class: "btn", href: address(meeting.id) }, titleOf(meeting)));
}
