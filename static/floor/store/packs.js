/* The classes that this tablet keeps, for whoever is signed in on it. A class is kept from its
   opening to the end of its day; nobody but the person it was fetched for gets to see it. */

/* The public id of the person signed in, or null. The server sets the cookie at every sign-in
   and deletes it at sign-out; it proves nothing and gives no right. */
export function whose() {
  return document.cookie.match(/(?:^|; )whose=([^;]+)/)?.[1] ?? null;
}

/* Called before anything is drawn: what is not for this person, or of a day that is over, is
   not on this tablet any longer. */
export async function wipePacks(box) {
  const author = whose();
  await box.wipePacks((kept) => kept.author === author && !isOver(kept));
}

// What packs of release 0.1 do not say, and what it was then. No pack is kept longer than its day.
const RULES_OF_0_1 = { fall_share: 0.5, unmet_most: 0.99 };

/* The class as it was kept, {meeting, author, day, at, pack}, or null. "at" is this tablet's
   time, in ms, when it was asked for. */
export async function keptPack(box, meeting, form) {
  const kept = await box.pack(meeting);
  if (kept?.author !== whose() || kept.pack.v !== form) return null;
  kept.pack.rules = { ...RULES_OF_0_1, ...kept.pack.rules };
  return kept;
}

export async function keepPack(box, pack, at) {
  const { meeting, me, day } = pack;
  await box.putPack({ meeting: meeting.id, author: me.id, day, at, pack });
  await wipePacks(box);
}

/* A tablet's clock may be wrong by hours; how far, it learned when it fetched the pack. */
function isOver({ at, pack }) {
  const now = Date.now() + Date.parse(pack.now) - at;
  return !(now < Date.parse(pack.meeting.over_at));
}
