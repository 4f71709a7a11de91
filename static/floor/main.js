/* The floor page: fetches the class, puts the parts together, and keeps them in step. */

import { chooseDrill, lines, strike, useSender } from "./actions.js";
import { drawBar, drawKept, signInAddress } from "./bar.js";
import { openBox } from "./box.js";
import { byId, button, fillWith, fit, make } from "./dom.js";
import { drawFaults, prepareFaults } from "./faults.js";
import { surfaceName } from "./names.js";
import * as reading from "./reading.js";
import { drawRoll, prepareRoll } from "./roll.js";
import { makeSender, readJson } from "./sender.js";
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
} from "./sheets.js";
import { address, changed, meeting, onChange, state } from "./state.js";
import { guardWhatLiesUnder } from "./taps.js";
import { drawTiles } from "./tiles.js";
import { uuid7 } from "./uuid7.js";
import { say } from "./words.js";

const FORM = 1;
const PACK_PATIENCE = 20_000;
// Sureness and support move this long after an answer, at most once in so many milliseconds.
const SETTLE = 600;
const BETWEEN_PACKS = 2_500;
// Other coaches' turns come in with the pack.
const LOOK_AGAIN = 60_000;

let sender = null;
let packTimer = null;
let packAsked = -Infinity;
let saidLast = null;

async function start() {
  state.box = await openBox();
  await readBox();
  state.device = await deviceTag();
  guardWhatLiesUnder();
  prepareSheet();
  prepareFaults();
  prepareRoll();
  prepareFoot();
  onChange(drawAll);
  sender = makeSender({
    box: state.box,
    device: state.device,
    tokenCookie: document.documentElement.dataset.tokenCookie,
    author: () => state.pack?.me.id ?? null,
    addressOf: (ofMeeting) => address(ofMeeting, "attempts"),
    known: () => [...state.records.values()].filter(reading.isWaiting),
    seen: takeStock,
    answered: takeAnswers,
    trouble: setTrouble,
    renewToken: fetchPack,
  });
  useSender(sender);
  if (await fetchPack()) await begin();
  addEventListener("online", () => sender.now());
  document.addEventListener("visibilitychange", lookAgain);
  setInterval(lookAgain, LOOK_AGAIN);
}

/* Whatever waited when the page was left goes on waiting; a turn whose faults were being
   picked then is final now. */
async function readBox() {
  for (const record of await state.box.all()) {
    if (record.draft) {
      record.draft = false;
      await state.box.put([record]);
    }
    state.records.set(record.id, record);
  }
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
  state.view = reading.presentChildren(pack, lines()).length ? "floor" : "roll";
  changed();
  sender.soon();
}

/* True if a pack came. */
async function fetchPack() {
  clearTimeout(packTimer);
  packTimer = null;
  const asked = performance.now();
  packAsked = asked;
  const trouble = await askPack();
  state.packTrouble = trouble;
  if (trouble === null) {
    for (const [id, record] of state.records) {
      if (record.answeredAt !== undefined && record.answeredAt < asked) state.records.delete(id);
    }
  }
  changed();
  return trouble === null;
}

async function askPack() {
  try {
    const response = await fetch(address(meeting, "pack"), {
      headers: { Accept: "application/json" },
      credentials: "same-origin",
      redirect: "manual",
      cache: "no-store",
      signal: AbortSignal.timeout(PACK_PATIENCE),
    });
    const data = await readJson(response);
    if (response.status === 401) return "sign-in";
    if (response.status === 404) return "not-yours";
    if (response.status !== 200 || !data) return "no-answer";
    if (data.v !== FORM) return "newer-page";
    state.pack = data;
    return null;
  } catch {
    return "no-answer";
  }
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
    if (!state.records.has(record.id)) state.records.set(record.id, record);
  }
  changed();
}

/* Kept and had: the line has done its work here. Anything else stays in sight. */
async function takeAnswers(pairs) {
  const done = [];
  for (const [record, { answer, code }] of pairs) {
    const known = state.records.get(record.id) ?? record;
    known.answer = answer;
    known.code = code ?? "";
    state.records.set(known.id, known);
    if (answer === "kept" || answer === "had") {
      known.answeredAt = performance.now();
      done.push(known.id);
    } else {
      await state.box.put([known]);
    }
  }
  await state.box.remove(done);
  changed();
  if (done.length) fetchPackSoon();
}

function fetchPackSoon() {
  if (packTimer !== null) return;
  const pause = Math.max(SETTLE, packAsked + BETWEEN_PACKS - performance.now());
  packTimer = setTimeout(fetchPack, pause);
}

function setTrouble(trouble) {
  if (state.linkTrouble === trouble) return;
  state.linkTrouble = trouble;
  changed();
}

function lookAgain() {
  if (document.visibilityState !== "visible") return;
  sender.now();
  if (state.pack) fetchPack();
}

function prepareFoot() {
  byId("surface").addEventListener("click", askSurface);
  byId("all-drills").addEventListener("click", askDrill);
  byId("last-turns").addEventListener("click", showLastTurns);
  byId("hurt").addEventListener("click", askHurt);
  byId("about").addEventListener("click", askChild);
  byId("fall").addEventListener("click", showFall);
  byId("who").addEventListener("click", () => {
    state.view = "roll";
    changed();
  });
  byId("undo").addEventListener("click", () => strike(state.last, "wrong-tap"));
  addEventListener("resize", () => fit(byId("strip")));
}

function drawAll() {
  drawKept();
  drawTrouble();
  const { pack } = state;
  byId("opening").hidden = pack !== null || state.packTrouble !== null;
  if (!pack) return;
  const floor = state.view === "floor";
  byId("roll").hidden = floor;
  byId("tiles").hidden = !floor;
  byId("choices").hidden = !floor;
  byId("foot").hidden = !floor;
  drawBar();
  if (floor) {
    drawChoices();
    drawTiles();
    drawFoot();
  } else {
    drawRoll();
  }
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
      : button("btn act", () => location.reload(), say("try-again"));
  fillWith(note, make("p", {}, say(`pack-${trouble}`)), way);
}

function drawChoices() {
  const surface = state.surface ? surfaceName(state.surface) : say("choose");
  fillWith(byId("surface"), make("span", {}, surface), make("small", {}, say("surface")));
  const strip = byId("strip");
  const drawn = [state.drill, ...state.strip].join(" ");
  if (strip.dataset.drawn === drawn) return;
  strip.dataset.drawn = drawn;
  const chips = state.strip.map((key) => {
    const drill = reading.drillOf(state.pack, key);
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
  byId("fall").textContent = say("fall-button", { number: place.emergency });
  const last = lastTurn();
  byId("undo").disabled = last === null;
  byId("undo").textContent = last === null ? say("undo-none") : say("undo", { turn: inWords(last) });
}

/* The turn that the quick undo takes back. */
function lastTurn() {
  if (state.last === null) return null;
  return reading.ownTurns(state.pack, lines()).find(({ turn }) => turn.id === state.last) ?? null;
}

function inWords({ child, turn }) {
  return say("turn-of", { name: child.name, outcome: outcomeOf(turn) });
}

/* One sentence for a screen reader after each turn. */
function sayLast() {
  const last = lastTurn();
  const sentence = last === null ? "" : `${inWords(last)}.`;
  if (last?.turn.id === saidLast?.id && sentence === saidLast?.sentence) return;
  saidLast = last === null ? null : { id: last.turn.id, sentence };
  byId("said").textContent = sentence;
}

start();
