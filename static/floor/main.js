/* The floor page: fetches the class, puts the parts together, and keeps them in step. */

import { prepareBeforeClass } from "./drawing/before_class.js";
import { byId } from "./drawing/dom.js";
import { drawAll, prepareFoot } from "./drawing/page.js";
import { say } from "./drawing/words.js";
import { lines, setSender } from "./entry/actions.js";
import { prepareAttendance } from "./entry/attendance.js";
import { prepareFaults } from "./entry/faults.js";
import { prepareHold } from "./entry/hold.js";
import { prepareSheet } from "./entry/sheets.js";
import { guardSecondTaps } from "./entry/taps.js";
import * as reading from "./rules/reading.js";
import { readJson } from "./sending/answers.js";
import { adjustClock, page } from "./sending/clock.js";
import { FORM, Sender } from "./sending/sender.js";
import { uuid7 } from "./sending/uuid7.js";
import { address, changed, meeting, onChange, state } from "./state.js";
import { abandonedDrafts, lockDrafts } from "./store/drafts.js";
import { openStore } from "./store/line_store.js";
import { deleteOldPacks, ownerFromCookie, savedPack, savePack } from "./store/packs.js";
import { prepareChangeOver } from "./tablet/change_over.js";
import { showClasses } from "./tablet/class_list.js";
import { prepareShell } from "./tablet/shell.js";

const PACK_TIMEOUT = 20_000;
// Sureness and support move this long after an answer, at most once in so many milliseconds.
const SETTLE = 600;
const BETWEEN_PACKS = 2_500;
// While turns are being tapped the class is fetched again at this least often, else once there
// was a moment without: reading it takes as long as drawing some taps.
const QUIET = 1_500;
const LONGEST_WITHOUT = 10_000;
// Other coaches' turns come in with the pack.
const REFRESH_EVERY = 60_000;
// Whether the page of a draft is gone is looked at again after so long.
const CHECK_DRAFTS_EVERY = 2_000;
// The class is written to the disk at most this often; what was sent since is there anyway.
const BETWEEN_SAVES = 15_000;

// What the server has acknowledged is kept so long, for a server restored from a backup.
const KEEP_SENT = 14 * 24 * 3600 * 1000;

let sender = null;
let packTimer = null;
let draftsTimer = null;
let packAskedAt = -Infinity;
let newestPackAskedAt = -Infinity;
let packSavedAt = -Infinity;
let classBegun = false;

async function start() {
  state.store = await openStore(() => (byId("opening").textContent = say("box-blocked")));
  await deleteOldPacks(state.store);
  await state.store.deleteSentBefore(Date.now() - KEEP_SENT);
  lockDrafts();
  await readLines();
  state.device = await deviceTag();
  guardSecondTaps();
  prepareSheet();
  prepareFaults();
  prepareAttendance();
  prepareBeforeClass();
  prepareFoot();
  prepareHold();
  prepareChangeOver();
  onChange(drawAll);
  sender = new Sender({
    store: state.store,
    device: state.device,
    tokenCookie: document.documentElement.dataset.tokenCookie,
    author: () => state.pack?.me.id ?? (meeting === null ? ownerFromCookie() : null),
    meeting,
    addressOf: (ofMeeting) => address(ofMeeting, "attempts"),
    waiting: () => [...state.records.values()].filter(reading.isWaiting),
    onStoreRead: syncWithStore,
    onAnswers: applyAnswers,
    onTrouble: setTrouble,
    renewToken,
  });
  setSender(sender);
  if (meeting === null) await showClasses();
  else await openClass();
  changed();
  addEventListener("online", refresh);
  addEventListener("pageshow", (event) => event.persisted && refresh(event));
  document.addEventListener("visibilitychange", refresh);
  setInterval(() => refresh(null), REFRESH_EVERY);
  if (meeting === null) sender.sendSoon();
  await prepareShell();
}

/* At once from what this tablet keeps, then as the server has it. */
async function openClass() {
  const kept = await savedPack(state.store, meeting, FORM);
  if (kept) {
    state.pack = kept.pack;
    state.packAt = kept.at;
    await readSentSince(kept.at);
    await beginClass();
  }
  const coming = fetchPack();
  if (!kept) await coming;
}

/* What the server has acknowledged since that pack was asked for: the pack does not tell of
   it. */
async function readSentSince(since) {
  for (const { acked, ...sent } of await state.store.sentUnderOtherLogs(null)) {
    if (sent.meeting !== meeting || acked < since) continue;
    const done = { answer: "had", code: "", draft: false, answeredAt: performance.now() };
    state.records.set(sent.id, { ...sent, ...done, at: Date.parse(sent.line.at) });
  }
}

/* Whatever waited when the page was left goes on waiting. */
async function readLines() {
  for (const record of await state.store.all()) state.records.set(record.id, record);
  await finishAbandonedDrafts();
}

/* A turn whose faults were being picked on a page that is gone is final. */
async function finishAbandonedDrafts() {
  clearTimeout(draftsTimer);
  const { left, open } = await abandonedDrafts(await state.store.all());
  for (const record of left) {
    record.draft = false;
    state.records.set(record.id, record);
  }
  if (left.length) await state.store.put(left);
  if (open) draftsTimer = setTimeout(finishAbandonedDrafts, CHECK_DRAFTS_EVERY);
  if (left.length) sender?.sendSoon();
}

async function deviceTag() {
  const known = await state.store.fact("device");
  if (known) return known;
  const made = `tablet-${uuid7().slice(-12)}`;
  await state.store.setFact("device", made);
  return made;
}

/* The first drawing with a class: what was chosen before a reload, or what was used last. */
async function beginClass() {
  classBegun = true;
  const { pack } = state;
  const drills = reading.drillsFor(pack).map((drill) => drill.key);
  const kept = await state.store.fact("choices");
  const same = kept?.meeting === meeting ? kept : {};
  const recent = [...new Set([...(same.strip ?? []), ...pack.recent, ...drills])];
  state.strip = recent.filter((key) => drills.includes(key)).slice(0, 10);
  state.drill = drills.includes(same.drill) ? same.drill : (state.strip[0] ?? null);
  const surfaces = pack.surfaces.map((surface) => surface.key);
  const surface = same.surface ?? pack.surface;
  state.surface = surfaces.includes(surface) ? surface : null;
  state.supportChoices = new Map(same.given ?? []);
  state.view = reading.presentChildren(pack, lines()).length ? "floor" : "before";
  changed();
  sender.sendSoon();
}

/* True if a pack came. */
async function fetchPack() {
  if (meeting === null) return false;
  clearTimeout(packTimer);
  packTimer = null;
  const asked = performance.now();
  packAskedAt = asked;
  const trouble = await requestPack();
  if (trouble === "leave") return false;
  state.packTrouble = trouble;
  if (trouble === null) {
    for (const [id, record] of state.records) {
      if (record.answeredAt !== undefined && record.answeredAt < asked) state.records.delete(id);
    }
  }
  if (trouble === null && !classBegun) await beginClass();
  changed();
  return trouble === null;
}

/* Every answer of the pack call sets the cookie again. At the list of classes none of them is
   this page's own. */
async function renewToken(ofMeeting) {
  if (meeting !== null) return fetchPack();
  try {
    return (await callPack(ofMeeting)).status === 200;
  } catch {
    return false;
  }
}

function callPack(ofMeeting) {
  const device = encodeURIComponent(state.device);
  return fetch(`${address(ofMeeting, "pack")}?device=${device}`, {
    headers: { Accept: "application/json" },
    credentials: "same-origin",
    redirect: "manual",
    cache: "no-store",
    signal: AbortSignal.timeout(PACK_TIMEOUT),
  });
}

async function requestPack() {
  const at = Date.now();
  const asked = performance.now();
  try {
    const response = await callPack(meeting);
    const data = await readJson(response);
    if (response.status === 401) return "sign-in";
    if (response.status === 404 && data) return await dropClass();
    if (response.status !== 200 || !data) return "no-answer";
    if (data.v !== FORM) return "newer-page";
    adjustClock(data.now, asked);
    // Answers may overtake each other: one that was asked for earlier tells nothing new.
    if (asked < newestPackAskedAt) return null;
    newestPackAskedAt = asked;
    return await usePack(data, at);
  } catch {
    return "no-answer";
  }
}

async function usePack(pack, at) {
  const somebodyElse = state.pack !== null && state.pack.me.id !== pack.me.id;
  if (somebodyElse || performance.now() - packSavedAt > BETWEEN_SAVES) {
    packSavedAt = performance.now();
    await savePack(state.store, pack, at);
  }
  if (somebodyElse) return reloadPage();
  state.pack = pack;
  state.packAt = at;
  return null;
}

/* This class is not, or no longer, for the person signed in. */
async function dropClass() {
  await state.store.deletePacksExcept((kept) => kept.meeting !== meeting);
  return state.pack === null ? "not-yours" : reloadPage();
}

/* Nothing that was drawn for somebody stays: the page begins again. */
function reloadPage() {
  location.reload();
  return "leave";
}

/* What the store holds now. Another tab may have put lines there, or sent ours. */
function syncWithStore(known, records) {
  const there = new Map(records.map((record) => [record.id, record]));
  for (const record of known) {
    if (!there.has(record.id)) {
      record.answer = "had";
      record.answeredAt = performance.now();
      fetchPackSoon();
    }
  }
  for (const record of records) {
    const mine = state.records.get(record.id);
    // Of another tab, or waiting again since the server lost it.
    if (!mine || record.line.page !== page || mine.answer !== record.answer) {
      state.records.set(record.id, record);
    }
  }
  if (records.some(({ draft, line }) => draft && line.page !== page)) finishAbandonedDrafts();
  changed();
}

/* Kept and had: the line has done its work here. Anything else stays in sight. */
async function applyAnswers(pairs, log) {
  const done = [];
  for (const [record, { answer, code }] of pairs) {
    // As it was sent, which is how the server has it.
    const known = Object.assign(state.records.get(record.id) ?? {}, record);
    known.answer = answer;
    known.code = code ?? "";
    state.records.set(known.id, known);
    if (answer === "kept" || answer === "had") {
      known.answeredAt = performance.now();
      done.push(known);
    } else {
      await state.store.put([known]);
    }
  }
  await state.store.acknowledge(done, log);
  changed();
  if (done.length) fetchPackSoon();
}

function fetchPackSoon() {
  if (packTimer !== null) return;
  const now = performance.now();
  const pause = Math.max(SETTLE, packAskedAt + BETWEEN_PACKS - now);
  packTimer = setTimeout(fetchWhenQuiet, pause, now + LONGEST_WITHOUT);
}

function fetchWhenQuiet(latest) {
  const now = performance.now();
  const quiet = Math.min(state.tappedAt + QUIET, latest);
  if (now < quiet) packTimer = setTimeout(fetchWhenQuiet, quiet - now, latest);
  else fetchPack();
}

function setTrouble(trouble, held) {
  const same = JSON.stringify([...held]) === JSON.stringify([...state.heldBack]);
  if (same && state.linkTrouble === trouble) return;
  // Is there no network, or only no sending? The pack tells.
  if ((trouble === "no-answer") !== (state.packTrouble === "no-answer")) fetchPackSoon();
  state.linkTrouble = trouble;
  state.heldBack = held;
  changed();
}

/* "event" is null when it is only the timer. */
function refresh(event) {
  // Somebody else has signed in, or somebody out, in another tab.
  if (state.pack !== null && state.pack.me.id !== ownerFromCookie()) return reloadPage();
  if (document.visibilityState !== "visible") return;
  if (event === null) sender.sendSoon();
  else sender.sendNow();
  if (meeting !== null) fetchPack();
}

start();
