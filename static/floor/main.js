/* The floor page: fetches the class, starts all parts, and keeps them up to date. */

import { prepareBeforeClass } from "./drawing/before_class.js";
import { byId } from "./drawing/dom.js";
import { drawAll, drawAround, prepareFoot } from "./drawing/page.js";
import { say } from "./drawing/words.js";
import { findLastTap, lines, setSender } from "./entry/actions.js";
import { prepareAttendance } from "./entry/attendance.js";
import { restoreChoices } from "./entry/chosen.js";
import { prepareFaults } from "./entry/faults.js";
import { prepareHall } from "./entry/hall.js";
import { prepareHold } from "./entry/hold.js";
import { prepareNewcomers } from "./entry/newcomers.js";
import { prepareRotation } from "./entry/rotation.js";
import { prepareSheet } from "./entry/sheets.js";
import { takeUp } from "./entry/take_up.js";
import { guardSecondTaps } from "./entry/taps.js";
import { prepareTonight } from "./entry/tonight.js";
import * as reading from "./rules/reading.js";
import { watchAlerts } from "./sending/alerts.js";
import { readJson } from "./sending/answers.js";
import { adjustClock, page } from "./sending/clock.js";
import { sendNotes } from "./sending/notes.js";
import { FORM, Sender } from "./sending/sender.js";
import { canSign, prepareKey, signRecords } from "./sending/signing.js";
import { sortAfter, uuid7 } from "./sending/uuid7.js";
import { address, changed, meeting, onChange, onChangeSeen, shellAddress, state } from "./state.js";
import { abandonedDrafts, lockDrafts } from "./store/drafts.js";
import { openStore } from "./store/line_store.js";
import { deleteOldPacks, namesOf, ownerFromCookie, savedPack, savePack } from "./store/packs.js";
import { prepareChangeOver } from "./tablet/change_over.js";
import { showClasses } from "./tablet/class_list.js";
import { endNoted } from "./tablet/ended.js";
import { prepareShell } from "./tablet/shell.js";
import { offerMeant, prepareStillHere } from "./tablet/still_here.js";

// All times are in milliseconds.
const PACK_TIMEOUT = 20_000;
// The pack is fetched so long after an answer, which moves sureness
// and support, but not more often than this; from a busy server more seldom: the time between two is
// so many times what the last one took, and at most the longest wait.
const SETTLE = 600;
const BETWEEN_PACKS = 2_500;
const TIMES_AS_LONG = 5;
// A server that is too busy to make one now: as if it had taken so long.
const TOO_BUSY = 1_000;
// Reading a pack delays the drawing of taps: wait for a moment without taps, but at most so long.
const QUIET = 1_500;
const LONGEST_WAIT = 10_000;
// Other coaches' turns come in with the pack.
const REFRESH_EVERY = 60_000;

const sentInTabs = new BroadcastChannel("floor-sent");
// How soon to check again whether the page of a draft is gone.
const CHECK_DRAFTS_EVERY = 2_000;
// The pack is written to the disk at most this often; lines sent since are stored anyway.
const BETWEEN_SAVES = 15_000;
// Acknowledged lines are kept so long, in case the server is restored from a backup.
const KEEP_SENT = 14 * 24 * 3600 * 1000;

let sender = null;
let packTimer = null;
let draftsTimer = null;
let packAskedAt = -Infinity;
let packTook = 0;
let newestPackAskedAt = -Infinity;
let packSavedAt = -Infinity;
let classBegun = false;
let keyPrepared = false;

async function start() {
  state.store = await openStore(() => (byId("opening").textContent = say("box-blocked")));
  endNoted(state.store, document.documentElement.dataset.signIn);
  await deleteOldPacks(state.store);
  await state.store.deleteSentBefore(Date.now() - KEEP_SENT);
  lockDrafts();
  await readLines();
  state.device = await deviceTag();
  guardSecondTaps();
  prepareSheet();
  prepareFaults();
  prepareAttendance();
  prepareNewcomers(fetchPack);
  prepareTonight();
  prepareBeforeClass();
  prepareFoot();
  prepareHold();
  prepareHall();
  prepareRotation();
  prepareChangeOver();
  onChange(drawAll);
  onChangeSeen(drawAround);
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
  // Another tab has sent something, perhaps what this one shows as waiting.
  sentInTabs.onmessage = () => sender.sendSoon();
  if (meeting === null) await showClasses();
  else await openClass();
  changed();
  await prepareStillHere();
  if (state.pack) await offerMeant();
  addEventListener("online", refresh);
  addEventListener("beforeunload", (event) => {
    if (state.store.onlyInMemory().length) event.preventDefault();
  });
  addEventListener("pageshow", (event) => event.persisted && refresh(event));
  document.addEventListener("visibilitychange", refresh);
  setInterval(() => refresh(null), REFRESH_EVERY);
  watchAlerts(alertsAddress, fetchPack);
  sendNotes();
  if (meeting === null) sender.sendSoon();
  await prepareShell();
}

/* Shows the saved pack at once, then the server's. */
async function openClass() {
  const saved = await savedPack(state.store, meeting, FORM);
  if (saved) {
    state.pack = saved.pack;
    state.packAt = saved.at;
    await readSentSince(saved.at);
    await beginClass();
  }
  const fetching = fetchPack();
  if (!saved) await fetching;
}

/* Lines that the server has acknowledged since that pack was asked for: they are not in it. */
async function readSentSince(since) {
  for (const { acked, ...sent } of await state.store.sentUnderOtherLogs(null)) {
    if (sent.meeting !== meeting || acked < since) continue;
    const done = { answer: "had", code: "", draft: false, answeredAt: performance.now() };
    state.records.set(sent.id, { ...sent, ...done, at: Date.parse(sent.line.at) });
  }
}

/* Lines that waited when the page was left go on waiting. */
async function readLines() {
  for (const record of await state.store.all()) state.records.set(record.id, record);
  state.names = await namesOf(state.store);
  const newest = [...state.records.keys()].at(-1);
  if (newest) sortAfter(newest);
  await finishAbandonedDrafts();
  // A page that was left right after a tap had no time to sign it. Drafts are their own page's.
  signRecords(
    state.store,
    [...state.records.values()].filter(({ draft }) => !draft),
  );
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
  await signRecords(state.store, left);
  if (open) draftsTimer = setTimeout(finishAbandonedDrafts, CHECK_DRAFTS_EVERY);
  if (left.length) sender?.sendSoon();
}

async function deviceTag() {
  const known = await state.store.fact("device");
  if (known) return known;
  const created = `tablet-${uuid7().slice(-12)}`;
  await state.store.setFact("device", created);
  return created;
}

/* The first drawing of the class, with what was chosen before a reload or used last. */
async function beginClass() {
  classBegun = true;
  await restoreChoices();
  state.view = reading.presentChildren(state.pack, lines()).length ? "floor" : "before";
  findLastTap();
  sender.sendSoon();
  await takeUp();
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
  if (trouble === "busy") {
    // What is here stays good until then.
    packTook = Math.max(packTook, TOO_BUSY);
    fetchPackSoon();
    return false;
  }
  state.packTrouble = trouble;
  if (trouble === null) {
    packTook = performance.now() - asked;
    for (const [id, record] of state.records) {
      if (record.answeredAt !== undefined && record.answeredAt < asked) state.records.delete(id);
    }
  }
  if (trouble === null && !classBegun) await beginClass();
  if (trouble === null && !keyPrepared) prepareSigning();
  changed();
  return trouble === null;
}

/* Once a page, and again with the next pack if the server could not be told. */
async function prepareSigning() {
  keyPrepared = true;
  const { tokenCookie } = document.documentElement.dataset;
  await prepareKey(state.store, state.pack.me.id, shellAddress("key"), tokenCookie);
  keyPrepared = !canSign(state.store) || Boolean(await state.store.key(state.pack.me.id));
}

/* Null with no pack, or with one that a server before it had alerts has made. */
function alertsAddress() {
  const known = state.pack?.alerts;
  return known === undefined ? null : `${address(meeting, "since")}?n=${known}`;
}

/* Every answer to the pack call sets the token cookie again. The list of classes has no pack of
   its own, so it asks for the one of that meeting. */
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
    if (response.status === 503 && data) return "busy";
    if (response.status !== 200 || !data) return "no-answer";
    if (data.v !== FORM) return "newer-page";
    adjustClock(data.now, asked);
    // Answers may overtake each other: ignore one that was asked for earlier.
    if (asked < newestPackAskedAt) return null;
    newestPackAskedAt = asked;
    return await usePack(data, at);
  } catch {
    return "no-answer";
  }
}

async function usePack(pack, at) {
  const somebodyElse = state.pack !== null && state.pack.me.id !== pack.me.id;
  // A child who has just come in is kept at once: the next tap may be of that child.
  const others = state.pack?.children.length !== pack.children.length;
  if (somebodyElse || others || performance.now() - packSavedAt > BETWEEN_SAVES) {
    packSavedAt = performance.now();
    await savePack(state.store, pack, at);
  }
  if (somebodyElse) return reloadPage();
  state.pack = pack;
  state.packAt = at;
  await forgetResolved(pack.resolved ?? []);
  return null;
}

/* Refused lines of which a director has said what they are. */
async function forgetResolved(ids) {
  const known = ids.filter((id) => state.records.has(id) && reading.isRefused(state.records.get(id)));
  if (known.length) await state.store.remove(known);
  for (const id of known) state.records.delete(id);
}

/* This class is not, or no longer, for the person signed in. */
async function dropClass() {
  await state.store.deletePacksExcept((saved) => saved.meeting !== meeting);
  return state.pack === null ? "not-yours" : reloadPage();
}

/* The page begins again, so that nothing drawn for somebody else stays. */
function reloadPage() {
  location.reload();
  return "leave";
}

/* Compare with what the store holds: another tab may have added lines, or sent ours, which the
   store has on record then. */
function syncWithStore(waiting, stored) {
  const storedById = new Map(stored.map((record) => [record.id, record]));
  for (const record of waiting) {
    if (!storedById.has(record.id)) {
      record.answer = "had";
      record.answeredAt = performance.now();
      fetchPackSoon();
    }
  }
  for (const record of stored) {
    const mine = state.records.get(record.id);
    // From another tab, or waiting again because the server lost it.
    if (!mine || record.line.page !== page || mine.answer !== record.answer) {
      state.records.set(record.id, record);
    }
  }
  if (stored.some(({ draft, line }) => draft && line.page !== page)) finishAbandonedDrafts();
  changed();
}

/* After "kept" and "had" a line is acknowledged; after any other answer it stays in sight. */
async function applyAnswers(pairs, log) {
  const done = [];
  for (const [record, { answer, code }] of pairs) {
    // With the content that was sent, which is what the server has.
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
  if (done.length === 0) return;
  sentInTabs.postMessage(null);
  fetchPackSoon();
}

function fetchPackSoon() {
  if (packTimer !== null) return;
  const now = performance.now();
  const between = Math.max(BETWEEN_PACKS, Math.min(LONGEST_WAIT, TIMES_AS_LONG * packTook));
  const pause = Math.max(SETTLE, packAskedAt + between - now);
  packTimer = setTimeout(fetchWhenQuiet, pause, now + LONGEST_WAIT);
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
  // Is there no network, or does only sending fail? The pack call shows it.
  if ((trouble === "no-answer") !== (state.packTrouble === "no-answer")) fetchPackSoon();
  state.linkTrouble = trouble;
  state.heldBack = held;
  changed();
}

/* "event" is null when the timer calls. */
function refresh(event) {
  // Somebody else has signed in, or somebody out, in another tab.
  if (state.pack !== null && state.pack.me.id !== ownerFromCookie()) return reloadPage();
  if (document.visibilityState !== "visible") return;
  changed();
  sendNotes();
  if (event === null) sender.sendSoon();
  else sender.sendNow();
  if (meeting !== null) fetchPack();
}

start();
