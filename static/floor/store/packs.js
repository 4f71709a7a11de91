/* The packs saved on this tablet. A pack is saved from the opening of a class to the end of its
   day, and only the person for whom it was fetched gets to see it. */

/* The public id of the person signed in, or null. The server sets the cookie at every sign-in
   and deletes it at sign-out; it proves nothing and gives no right. */
export function ownerFromCookie() {
  return document.cookie.match(/(?:^|; )whose=([^;]+)/)?.[1] ?? null;
}

export const ORIGIN = "origin ";
// Of the facts that are drafts: what is being entered on a page (entry/open_entry.js).
export const ENTRY = "entry ";

/* Called before anything is drawn: deletes packs of other people and of days that are over, and
   with the last pack of a person the key that signs their lines. */
export async function deleteOldPacks(store) {
  const author = ownerFromCookie();
  await store.deletePacksExcept((saved) => saved.author === author && !isOver(saved));
  await store.deleteKeysExcept((await store.packs()).length ? author : null);
}

// What packs of release 0.1 do not say, with the values of then. No pack outlives its day.
const RULES_OF_0_1 = { fall_share: 0.5, unmet_most: 0.99 };

/* The class as it was saved, {meeting, author, day, at, pack}, or null. "at" is this tablet's
   time, in ms, when it was asked for. */
export async function savedPack(store, meeting, form) {
  const saved = await store.pack(meeting);
  if (saved?.author !== ownerFromCookie() || saved.pack.v !== form) return null;
  saved.pack.rules = { ...RULES_OF_0_1, ...saved.pack.rules };
  return saved;
}

/* The fact under which the store keeps what makes a class again, should the server be restored from
   a backup that is older than the class. It outlives the pack: there are no names in it. */
export function originOf(meeting) {
  return `${ORIGIN}${meeting}`;
}

export async function savePack(store, pack, at) {
  const { meeting, me, day, log, origin } = pack;
  await store.putPack({ meeting: meeting.id, author: me.id, day, at, pack });
  await keepName(store, me);
  if (origin) await store.setFact(originOf(meeting.id), { origin, log, at });
  await deleteOldPacks(store);
}

const NAMES = "names";

/* The names of the staff whose lines wait here, by public id. */
export async function namesOf(store) {
  return (await store.fact(NAMES)) ?? {};
}

async function keepName(store, me) {
  const authors = new Set((await store.all()).map(({ author }) => author));
  const known = Object.entries(await namesOf(store)).filter(([author]) => authors.has(author));
  await store.setFact(NAMES, { ...Object.fromEntries(known), [me.id]: me.name });
}

/* A tablet's clock may be wrong by hours; how far, it learned when it fetched the pack. */
export function isOver({ at, pack }) {
  const now = Date.now() + Date.parse(pack.now) - at;
  return !(now < Date.parse(pack.meeting.over_at));
}
