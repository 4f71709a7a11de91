/* What a coach can do: each tap becomes one line with an id and a time made at the tap. */

import { choiceKey, linesHere, painsToday, supportPlanned } from "../rules/reading.js";
import { stamp } from "../sending/clock.js";
import { uuid7 } from "../sending/uuid7.js";
import { changed, meeting, state } from "../state.js";

// How long a turn waits for its faults after the last touch, in milliseconds.
const DRAFT_PATIENCE = 20_000;

let sender = null;
let draftTimer = null;

/* The sender is made once the box is open and somebody is known to be signed in. */
export function useSender(made) {
  sender = made;
}

export function lines() {
  return linesHere(state.records, meeting);
}

/* Log a turn. Outcome: {clean} or {value}. A draft waits for its faults before it is sent. */
export async function logTurn(child, drill, outcome, draft) {
  const line = newTurn(child, drill, outcome);
  closeDraft();
  if (draft) {
    state.draft = line.id;
    holdDraft();
  }
  state.last = [line.id];
  await keep(line, draft);
  return line;
}

/* Log a turn of each of several children, [[child, outcome], ...], in one write: all of them are
   on the disk or none is. One undo takes them all back. */
export async function logTurns(drill, outcomes) {
  const made = outcomes.map(([child, outcome]) => newTurn(child, drill, outcome));
  closeDraft();
  state.last = made.map((line) => line.id);
  await keepAll(made);
}

function newTurn(child, drill, outcome) {
  const plan = supportPlanned(state.pack, child, drill, state.surface, lines(), state.given);
  const line = newLine("turn", {
    child: child.id,
    drill: drill.key,
    surface: state.surface,
    support: plan.amount,
    ...outcome,
  });
  if (drill.support_logged && plan.allowed !== null) line.allowed = plan.allowed;
  if (plan.less) line.less = plan.less;
  return line;
}

/* Faults and "caught" of the turn that is still being written down. */
export async function setFaults(faults, caught) {
  const record = state.records.get(state.draft);
  if (!record) return;
  record.line = { ...record.line, faults };
  delete record.line.caught;
  if (caught) record.line.caught = true;
  holdDraft();
  changed();
  await store(record);
}

/* The draft is final from now on and may be sent. */
export async function closeDraft() {
  clearTimeout(draftTimer);
  const record = state.records.get(state.draft);
  state.draft = null;
  if (record?.draft) await finish(record);
}

async function finish(record) {
  record.draft = false;
  changed();
  await store(record);
  sender?.soon();
}

export function holdDraft() {
  clearTimeout(draftTimer);
  draftTimer = setTimeout(closeDraft, DRAFT_PATIENCE);
}

/* Take a turn back: a line of its own. The turn itself is sent as well. */
export async function strike(turn, code) {
  await strikeAll([turn], code);
}

export async function strikeAll(turns, code) {
  if (turns.includes(state.draft)) await closeDraft();
  state.last = state.last.filter((id) => !turns.includes(id));
  await keepAll(turns.map((turn) => newLine("strike", { turn, code })));
}

export async function sayPresent(children, present) {
  await keepAll(children.map((child) => newLine("here", { child: child.id, present })));
}

export async function sayHurts(child, place) {
  await closeDraft();
  if (painsToday(child, lines()).includes(place)) return;
  await keep(newLine("hurt", { child: child.id, place }));
}

/* Choose the support for a child's next turns; "less" is the reason if it is under "least". */
export function giveSupport(child, drill, amount, least, less = null) {
  const key = choiceKey(child, drill, state.surface);
  if (amount === least) state.given.delete(key);
  else state.given.set(key, { amount, less, under: less ? least : null });
  keepChoices();
  changed();
}

export function chooseDrill(key) {
  closeDraft();
  state.drill = key;
  if (!state.strip.includes(key)) state.strip.unshift(key);
  keepChoices();
  changed();
}

export function chooseSurface(key) {
  closeDraft();
  state.surface = key;
  keepChoices();
  changed();
}

/* A refused turn again, as a new line with the time at which it was done: of this child and
   this drill, with what else the ladder has of it. The old one is put away. */
export async function mend(record, child, drill) {
  // A second tap finds it gone.
  if (!state.records.delete(record.id)) return;
  const { less, ...line } = { ...record.line, ...newLine("turn", {}), child: child.id, drill: drill.key };
  const known = drill.faults.map((fault) => fault.key);
  const surfaces = state.pack.surfaces.map((surface) => surface.key);
  if (!surfaces.includes(line.surface)) line.surface = state.surface;
  if (line.faults) line.faults = line.faults.filter((key) => known.includes(key));
  if (record.code === "clean-with-stop-sign") line.clean = false;
  if (record.code !== "bad-time") keepTime(line, record.line);
  if (less && state.pack.less.includes(less)) line.less = less;
  await keepAll([line, ...strikesOf(record)]);
  await drop(record);
}

/* When it was done, by the clock of then. */
function keepTime(line, { at, page, mono, offset }) {
  Object.assign(line, { at, page, mono });
  if (offset === undefined) delete line.offset;
  else line.offset = offset;
}

/* A refused line has been looked at. The server keeps it in full for the director. */
export async function putAway(record) {
  if (!state.records.delete(record.id)) return;
  const strikes = strikesOf(record);
  if (strikes.length) await keepAll(strikes);
  await drop(record);
}

/* A refused turn may still come in from a file that was saved before: struck, it counts for
   nothing then. Where the server holds another turn of the same id, that one is left alone. */
function strikesOf({ answer, meeting: ofMeeting, line }) {
  if (!state.pack || answer !== "refused" || ofMeeting !== meeting || line.kind !== "turn") return [];
  return [newLine("strike", { turn: line.id, code: "other" })];
}

async function drop(record) {
  await state.box.remove([record.id]);
  state.records.delete(record.id);
  changed();
}

export function sendNow() {
  sender?.now();
}

/* What others have left on this tablet goes under their names, brought by whoever is here. */
export function sendOthers() {
  sender?.sendOthers();
}

function newLine(kind, content) {
  const now = Date.now();
  const { me, token } = state.pack;
  const whose = token ? { by: me.id, pack: token } : { by: me.id };
  return { kind, id: uuid7(now), at: new Date(now).toISOString(), ...stamp(), ...whose, ...content };
}

function keep(line, draft = false) {
  return keepAll([line], draft);
}

async function keepAll(newLines, draft = false) {
  const author = state.pack.me.id;
  state.tappedAt = performance.now();
  const records = newLines.map((line) => ({
    id: line.id,
    meeting,
    author,
    at: Date.parse(line.at),
    draft,
    line,
    answer: null,
    code: null,
  }));
  await state.box.put(records);
  // Only now is it shown as kept.
  for (const record of records) state.records.set(record.id, record);
  changed();
  if (!draft) sender?.soon();
  // The next child was tapped before the disk had answered.
  else if (state.draft !== records[0].id) await finish(records[0]);
}

async function store(record) {
  await state.box.put([record]);
}

/* Which drill, surface and support were chosen: kept for a reload during the same class. */
function keepChoices() {
  const { drill, surface, strip, given } = state;
  state.box.setFact("choices", { meeting, drill, surface, strip, given: [...given] });
}
