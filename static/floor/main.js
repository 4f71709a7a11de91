/* The floor page: fetches the class, puts the parts together, and keeps them in step. */

import { chooseDrill, lines, strikeAll, useSender } from "./entry/actions.js";
import { drawBar, drawKept } from "./drawing/bar.js";
import { drawBefore, prepareBefore } from "./drawing/before_class.js";
import { openBox } from "./store/line_store.js";
import { drawChangeOver, prepareChangeOver } from "./tablet/change_over.js";
import { hearTime, page } from "./sending/clock.js";
import { showClasses } from "./tablet/class_list.js";
import { byId, button, fillWith, fit, make, setText } from "./drawing/dom.js";
import { holdDrafts, leftDrafts } from "./store/drafts.js";
import { drawFaults, prepareFaults } from "./entry/faults.js";
import { drawHold, openHold, prepareHold } from "./entry/hold.js";
import { surfaceName } from "./drawing/code_names.js";
import { drawNotes } from "./drawing/page_notes.js";
import { keepPack, keptPack, whose, wipePacks } from "./store/packs.js";
import * as reading from "./rules/reading.js";
import { drawRoll, prepareRoll } from "./entry/attendance.js";
import { FORM, makeSender, readJson } from "./sending/sender.js";
import {
  askChild,
  askDrill,
  askHurt,
  askSurface,
  measureOf,
  outcomeOf,
  prepareSheet,
  showFall,
  showLastTurns,
} from "./entry/sheets.js";
import { fetchNewer, prepareShell } from "./tablet/shell.js";
import { address, changed, meeting, onChange, signInAddress, state } from "./state.js";
import { guardWhatLiesUnder } from "./entry/taps.js";
import { drawTiles } from "./drawing/tiles.js";
import { uuid7 } from "./sending/uuid7.js";
import { askWholeLine } from "./entry/whole_line.js";
import { say, sayCount } from "./drawing/words.js";

const PACK_PATIENCE = 20_000;
// Sureness and support move this long after an answer, at most once in so many milliseconds.
const SETTLE = 600;
const BETWEEN_PACKS = 2_500;
// While turns are being tapped the class is fetched again at this least often, else once there
// was a moment without: reading it takes as long as drawing some taps.
const QUIET = 1_500;
const LONGEST_WITHOUT = 10_000;
// Other coaches' turns come in with the pack.
const LOOK_AGAIN = 60_000;
// Whether the page of a draft is gone is looked at again after so long.
const LOOK_AT_DRAFTS = 2_000;
// The class is written to the disk at most this often; what was sent since is there anyway.
const BETWEEN_KEEPS = 15_000;

// What the server has acknowledged is kept so long, for a server restored from a backup.
const KEEP_SENT = 14 * 24 * 3600 * 1000;

let sender = null;
let packTimer = null;
let draftsTimer = null;
let packAsked = -Infinity;
let packTaken = -Infinity;
let packKept = -Infinity;
let begun = false;
let saidLast = null;

async function start() {
  state.box = await openBox(() => (byId("opening").textContent = say("box-blocked")));
  await wipePacks(state.box);
  await state.box.forgetSent(Date.now() - KEEP_SENT);
  holdDrafts();
  await readBox();
  state.device = await deviceTag();
  guardWhatLiesUnder();
  prepareSheet();
  prepareFaults();
  prepareRoll();
  prepareBefore();
  prepareFoot();
  prepareHold();
  prepareChangeOver();
  onChange(drawAll);
  sender = makeSender({
    box: state.box,
    device: state.device,
    tokenCookie: document.documentElement.dataset.tokenCookie,
    author: () => state.pack?.me.id ?? (meeting === null ? whose() : null),
    meeting,
    addressOf: (ofMeeting) => address(ofMeeting, "attempts"),
    known: () => [...state.records.values()].filter(reading.isWaiting),
    seen: takeStock,
    answered: takeAnswers,
    trouble: setTrouble,
    renewToken,
  });
  useSender(sender);
  if (meeting === null) await showClasses();
  else await openClass();
  changed();
  addEventListener("online", lookAgain);
  addEventListener("pageshow", (event) => event.persisted && lookAgain(event));
  document.addEventListener("visibilitychange", lookAgain);
  setInterval(() => lookAgain(null), LOOK_AGAIN);
  if (meeting === null) sender.soon();
  await prepareShell();
}

/* At once from what this tablet keeps, then as the server has it. */
async function openClass() {
  const kept = await keptPack(state.box, meeting, FORM);
  if (kept) {
    state.pack = kept.pack;
    state.packAt = kept.at;
    await readSent(kept.at);
    await begin();
  }
  const coming = fetchPack();
  if (!kept) await coming;
}

/* What the server has acknowledged since that pack was asked for: the pack does not tell of
   it. */
async function readSent(since) {
  for (const { acked, ...sent } of await state.box.sentAll(null)) {
    if (sent.meeting !== meeting || acked < since) continue;
    const done = { answer: "had", code: "", draft: false, answeredAt: performance.now() };
    state.records.set(sent.id, { ...sent, ...done, at: Date.parse(sent.line.at) });
  }
}

/* Whatever waited when the page was left goes on waiting. */
async function readBox() {
  for (const record of await state.box.all()) state.records.set(record.id, record);
  await finishLeft();
}

/* A turn whose faults were being picked on a page that is gone is final. */
async function finishLeft() {
  clearTimeout(draftsTimer);
  const { left, open } = await leftDrafts(await state.box.all());
  for (const record of left) {
    record.draft = false;
    state.records.set(record.id, record);
  }
  if (left.length) await state.box.put(left);
  if (open) draftsTimer = setTimeout(finishLeft, LOOK_AT_DRAFTS);
  if (left.length) sender?.soon();
}

async function deviceTag() {
  const known = await state.box.fact("device");
  if (known) return known;
  const made = `tablet-${uuid7().slice(-12)}`;
  await state.box.setFact("device", made);
  return made;
}

/* The first drawing with a class: what was chosen before a reload, or what was used last. */
async function begin() {
  begun = true;
  const { pack } = state;
  const drills = reading.drillsFor(pack).map((drill) => drill.key);
  const kept = await state.box.fact("choices");
  const same = kept?.meeting === meeting ? kept : {};
  const recent = [...new Set([...(same.strip ?? []), ...pack.recent, ...drills])];
  state.strip = recent.filter((key) => drills.includes(key)).slice(0, 10);
  state.drill = drills.includes(same.drill) ? same.drill : (state.strip[0] ?? null);
  const surfaces = pack.surfaces.map((surface) => surface.key);
  const surface = same.surface ?? pack.surface;
  state.surface = surfaces.includes(surface) ? surface : null;
  state.given = new Map(same.given ?? []);
  state.view = reading.presentChildren(pack, lines()).length ? "floor" : "before";
  changed();
  sender.soon();
}

/* True if a pack came. */
async function fetchPack() {
  if (meeting === null) return false;
  clearTimeout(packTimer);
  packTimer = null;
  const asked = performance.now();
  packAsked = asked;
  const trouble = await askPack();
  if (trouble === "leave") return false;
  state.packTrouble = trouble;
  if (trouble === null) {
    for (const [id, record] of state.records) {
      if (record.answeredAt !== undefined && record.answeredAt < asked) state.records.delete(id);
    }
  }
  if (trouble === null && !begun) await begin();
  changed();
  return trouble === null;
}

/* Every answer of the pack call sets the cookie again. At the list of classes none of them is
   this page's own. */
async function renewToken(ofMeeting) {
  if (meeting !== null) return fetchPack();
  try {
    return (await callForPack(ofMeeting)).status === 200;
  } catch {
    return false;
  }
}

function callForPack(ofMeeting) {
  const device = encodeURIComponent(state.device);
  return fetch(`${address(ofMeeting, "pack")}?device=${device}`, {
    headers: { Accept: "application/json" },
    credentials: "same-origin",
    redirect: "manual",
    cache: "no-store",
    signal: AbortSignal.timeout(PACK_PATIENCE),
  });
}

async function askPack() {
  const at = Date.now();
  const asked = performance.now();
  try {
    const response = await callForPack(meeting);
    const data = await readJson(response);
    if (response.status === 401) return "sign-in";
    if (response.status === 404 && data) return await giveUp();
    if (response.status !== 200 || !data) return "no-answer";
    if (data.v !== FORM) return "newer-page";
    hearTime(data.now, asked);
    // Answers may overtake each other: one that was asked for earlier tells nothing new.
    if (asked < packTaken) return null;
    packTaken = asked;
    return await takePack(data, at);
  } catch {
    return "no-answer";
  }
}

async function takePack(pack, at) {
  const somebodyElse = state.pack !== null && state.pack.me.id !== pack.me.id;
  if (somebodyElse || performance.now() - packKept > BETWEEN_KEEPS) {
    packKept = performance.now();
    await keepPack(state.box, pack, at);
  }
  if (somebodyElse) return leave();
  state.pack = pack;
  state.packAt = at;
  return null;
}

/* This class is not, or no longer, for the person signed in. */
async function giveUp() {
  await state.box.wipePacks((kept) => kept.meeting !== meeting);
  return state.pack === null ? "not-yours" : leave();
}

/* Nothing that was drawn for somebody stays: the page begins again. */
function leave() {
  location.reload();
  return "leave";
}

/* What the box holds now. Another tab may have put lines there, or sent ours. */
function takeStock(known, records) {
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
  if (records.some(({ draft, line }) => draft && line.page !== page)) finishLeft();
  changed();
}

/* Kept and had: the line has done its work here. Anything else stays in sight. */
async function takeAnswers(pairs, log) {
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
      await state.box.put([known]);
    }
  }
  await state.box.acknowledge(done, log);
  changed();
  if (done.length) fetchPackSoon();
}

function fetchPackSoon() {
  if (packTimer !== null) return;
  const now = performance.now();
  const pause = Math.max(SETTLE, packAsked + BETWEEN_PACKS - now);
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
function lookAgain(event) {
  // Somebody else has signed in, or somebody out, in another tab.
  if (state.pack !== null && state.pack.me.id !== whose()) return leave();
  if (document.visibilityState !== "visible") return;
  if (event === null) sender.soon();
  else sender.now();
  if (meeting !== null) fetchPack();
}

function show(view) {
  state.view = view;
  changed();
}

function prepareFoot() {
  byId("surface").addEventListener("click", askSurface);
  byId("all-drills").addEventListener("click", askDrill);
  byId("last-turns").addEventListener("click", showLastTurns);
  byId("hurt").addEventListener("click", askHurt);
  byId("about").addEventListener("click", askChild);
  byId("fall").addEventListener("click", showFall);
  byId("who").addEventListener("click", () => show("roll"));
  byId("before-class").addEventListener("click", () => show("before"));
  byId("undo").addEventListener("click", () => {
    strikeAll(lastTurns().map(({ turn }) => turn.id), "wrong-tap");
  });
  byId("way").addEventListener("click", () => WAYS[measureNow()]?.act());
  addEventListener("resize", () => fit(byId("strip")));
}

function drawAll() {
  drawKept();
  drawNotes();
  drawTrouble();
  const { pack } = state;
  byId("opening").hidden = pack !== null || state.packTrouble !== null || meeting === null;
  if (!pack) return;
  const floor = state.view === "floor";
  byId("before").hidden = state.view !== "before";
  byId("roll").hidden = state.view !== "roll";
  byId("tiles").hidden = !floor;
  byId("choices").hidden = !floor;
  byId("foot").hidden = !floor;
  drawBar();
  drawChangeOver();
  if (floor) {
    drawChoices();
    drawTiles();
    drawFoot();
  } else if (state.view === "roll") {
    drawRoll();
  } else if (state.view === "before") {
    drawBefore();
  }
  drawHold();
  drawFaults();
  sayLast();
}

/* Without a class there is nothing to log; say why, and what can be done. */
function drawTrouble() {
  const trouble = state.pack === null || state.packTrouble === "newer-page" ? state.packTrouble : null;
  const note = byId("trouble");
  note.hidden = trouble === null;
  if (trouble === null) return;
  const way =
    trouble === "sign-in"
      ? make("a", { class: "btn act", href: signInAddress() }, say("to-sign-in"))
      : button("btn act", trouble === "newer-page" ? fetchNewer : reload, say("try-again"));
  fillWith(note, make("p", {}, say(`pack-${trouble}`)), way);
}

function reload() {
  location.reload();
}

function drawChoices() {
  const surface = state.surface ? surfaceName(state.surface) : say("choose");
  if (byId("surface").dataset.drawn !== surface) {
    byId("surface").dataset.drawn = surface;
    fillWith(byId("surface"), make("span", {}, surface), make("small", {}, say("surface")));
  }
  const strip = byId("strip");
  const drawn = [state.drill, ...state.strip].join(" ");
  if (strip.dataset.drawn === drawn) return;
  strip.dataset.drawn = drawn;
  // The ladder may have changed since they were put there.
  const there = state.strip.map((key) => reading.drillOf(state.pack, key)).filter(Boolean);
  const chips = there.map((drill) => {
    const { key } = drill;
    const chip = button("choice", () => chooseDrill(key), make("span", {}, drill.name), measureOf(drill));
    chip.setAttribute("aria-pressed", key === state.drill);
    return chip;
  });
  fillWith(strip, chips);
  fit(strip);
  // The chosen drill must be in sight.
  if (strip.querySelector("[aria-pressed=true]")?.hidden) {
    state.strip = [state.drill, ...state.strip.filter((key) => key !== state.drill)];
    drawChoices();
  }
}

function drawFoot() {
  const { meeting: place } = state.pack;
  setText(byId("fall"), say("fall-button", { number: place.emergency }));
  const last = lastTurns();
  byId("undo").disabled = last.length === 0;
  setText(byId("undo"), last.length === 0 ? say("undo-none") : say("undo", { turn: inWords(last) }));
  const way = WAYS[measureNow()];
  byId("way").hidden = way === undefined;
  if (way) setText(byId("way"), say(way.words));
}

/* What logs many children at once, by what is measured. */
const WAYS = {
  clean: { words: "all-clean-but", act: askWholeLine },
  seconds: { words: "hold-clock", act: () => openHold() },
};

function measureNow() {
  return reading.drillOf(state.pack, state.drill)?.measure;
}

/* The turns that the quick undo takes back: one, or a whole line. */
function lastTurns() {
  if (state.last.length === 0) return [];
  return reading.turnsOf(state.last, state.pack, lines());
}

function inWords(turns) {
  if (turns.length > 1) return sayCount("turns-of-line", turns.length);
  const [{ child, turn }] = turns;
  return say("turn-of", { name: child.name, outcome: outcomeOf(turn) });
}

/* One sentence for a screen reader after each turn. */
function sayLast() {
  const last = lastTurns();
  const sentence = last.length === 0 ? "" : `${inWords(last)}.`;
  const id = last[0]?.turn.id;
  if (id === saidLast?.id && sentence === (saidLast?.sentence ?? "")) return;
  saidLast = last.length === 0 ? null : { id, sentence };
  byId("said").textContent = sentence;
}

start();
