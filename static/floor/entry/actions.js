/* What a coach can do: each tap becomes one line, with its id and time made at the tap. */

import { lastTap } from "../rules/evening.js";
import { choiceKey, linesOfMeeting, painsToday, plannedSupport, presentChildren } from "../rules/reading.js";
import { clockFields } from "../sending/clock.js";
import { signRecords } from "../sending/signing.js";
import { uuid7 } from "../sending/uuid7.js";
import { changed, inSight, meeting, state } from "../state.js";
import { saveChoices } from "./chosen.js";

// How long a turn waits for its faults after the last touch, in milliseconds.
const DRAFT_TIMEOUT = 20_000;

let sender = null;
let draftTimer = null;

/* The sender is made once the store is open and somebody is known to be signed in. */
export function setSender(created) {
  sender = created;
}

export function lines() {
  return linesOfMeeting(state.records, meeting);
}

/* The children present at this tablet's station by these lines, in the order that was asked for; who
   came since stands behind. */
export function childrenShown(now = lines()) {
  const { station, order } = state;
  const here = presentChildren(state.pack, now).filter(({ id }) => !station || station.has(id));
  if (!order) return here;
  const place = ({ id }) => (order.includes(id) ? order.indexOf(id) : order.length);
  return here.sort((one, other) => place(one) - place(other));
}

export function chooseStation(ids) {
  state.station = ids.size ? ids : null;
  if (state.station === null && state.rotation) state.lead = "";
  saveChoices();
  changed();
}

export function chooseOrder(ids) {
  state.order = ids;
  saveChoices();
  changed();
}

/* Log a turn. Outcome: {clean} or {value}. A draft waits for its faults before it is sent. */
export async function logTurn(child, drill, outcome, draft) {
  const line = newTurn(child, drill, outcome);
  closeDraft();
  if (draft) {
    state.draft = line.id;
    restartDraftTimer();
  }
  state.last = [line.id];
  await addLine(line, draft);
  return line;
}

/* Log a turn of each of several children, [[child, outcome], ...], in one write: all of them are
   on the disk or none is. One undo takes them all back. */
export async function logTurns(drill, outcomes) {
  const now = Date.now();
  const turns = outcomes.map(([child, outcome]) => newTurn(child, drill, outcome, now));
  closeDraft();
  state.last = turns.map((line) => line.id);
  await addLines(turns);
}

function newTurn(child, drill, outcome, now = Date.now()) {
  const plan = plannedSupport(state.pack, child, drill, state.surface, lines(), state.supportChoices);
  const content = { child: child.id, drill: drill.key, surface: state.surface, support: plan.amount, ...outcome };
  const line = newLine("turn", content, now);
  if (drill.support_logged && plan.allowed !== null && !state.pack.over) line.allowed = plan.allowed;
  if (plan.less) {
    line.less = plan.less;
    // A reason is for one turn: for less support once more it is asked again.
    state.supportChoices.delete(choiceKey(child, drill, state.surface));
    saveChoices();
  }
  return line;
}

/* Set the faults and "caught" of the draft. */
export async function setFaults(faults, caught) {
  const record = state.records.get(state.draft);
  if (!record) return;
  record.line = { ...record.line, faults };
  delete record.line.caught;
  if (caught) record.line.caught = true;
  delete record.signed;
  restartDraftTimer();
  changed();
  await saveRecord(record);
  await signRecords(state.store, [record]);
}

/* The draft is final from now on and may be sent. */
export async function closeDraft() {
  clearTimeout(draftTimer);
  const record = state.records.get(state.draft);
  state.draft = null;
  if (record?.draft) await finishDraft(record);
}

async function finishDraft(record) {
  record.draft = false;
  changed();
  await saveRecord(record);
  sender?.sendSoon();
  await signRecords(state.store, [record]);
}

export function restartDraftTimer() {
  clearTimeout(draftTimer);
  draftTimer = setTimeout(closeDraft, DRAFT_TIMEOUT);
}

/* Take a turn back: a line of its own. The turn itself is sent as well. */
export async function strike(turn, code) {
  await strikeAll([turn], code);
}

export async function strikeAll(turns, code) {
  if (turns.includes(state.draft)) await closeDraft();
  await addLines(turns.map((turn) => newLine("strike", { turn, code })));
  findLastTap();
}

/* What the quick undo takes back next: what one's own tap before logged, as deep as the evening. */
export function findLastTap() {
  state.last = lastTap(state.pack, lines());
  changed();
}

/* A turn put right: struck, and logged again with something changed, at the old time; both in one
   write. */
export async function logAgain({ child, drill, turn }, changes, code) {
  if (turn.id === state.draft) await closeDraft();
  const { clean, value, surface, support, faults, caught, less } = turn;
  const before = { child: child.id, drill: drill.key, clean, value, surface, support, faults, caught, less };
  const content = Object.entries({ ...before, ...changes }).filter(([, each]) => each !== undefined && each !== null);
  const line = newLine("turn", Object.fromEntries(content));
  // A turn that came with the class has the server's time.
  if (turn.kind === "turn") copyTime(line, turn);
  else copyTime(line, { at: turn.at, offset: 0 });
  state.last = [line.id];
  await addLines([newLine("strike", { turn: turn.id, code }), line]);
}

export async function recordAttendance(children, present) {
  await addLines(children.map((child) => newLine("here", { child: child.id, present })));
}

export async function reportPain(child, place) {
  await closeDraft();
  if (painsToday(child, lines()).includes(place)) return;
  await addLine(newLine("hurt", { child: child.id, place }));
}

/* The child fell: the start of what is written down at the desk. */
export async function reportFell(child) {
  await closeDraft();
  await addLine(newLine("fell", { child: child.id }));
}

/* A pause was the wrong child's: the right one's first, so that nobody in need of one is without. */
export async function pauseOfAnother(id, child, place) {
  const right = newLine("hurt", { child: child.id, place });
  await addLines([right, newLine("strike", { turn: id, code: "wrong-child", instead: right.id })]);
}

/* What hurt on an earlier day does so no longer. */
export async function reportGone(child, place) {
  await closeDraft();
  await addLine(newLine("gone", { child: child.id, place }));
}

/* The child grows fast, by the eye of whoever is signed in or the family's word. */
export async function reportGrowing(child) {
  await closeDraft();
  await addLine(newLine("growing", { child: child.id }));
}

/* The family was told of something, by whoever is signed in. */
export async function reportTold(child, what, whom) {
  await closeDraft();
  await addLine(newLine("told", { child: child.id, what, whom }));
}

/* The class is over for the evening; what is logged after that is taken all the same. */
export async function closeClass() {
  await closeDraft();
  await addLine(newLine("class-over", {}));
}

/* Something of the hall: a code of rules/hall.js, and of a mat its surface. */
export async function reportOfHall(what, surface = null) {
  await addLine(newLine("hall", surface ? { what, surface } : { what }));
}

/* A rotation of the stations begins; the one after the last: they are over. */
export async function beginRotation(number) {
  await closeDraft();
  await addLine(newLine("rotation", { number }));
}

/* The child wants no hands tonight; nobody asks why. */
export async function recordNoHands(child) {
  await closeDraft();
  await addLine(newLine("no-hands", { child: child.id }));
}

export async function takeBackNoHands(said) {
  await addLines(said.map((turn) => newLine("strike", { turn, code: "other" })));
}

/* Choose the support for a child's next turns; "less" is the reason if it is under "least". */
export function chooseSupport(child, drill, amount, least, less = null) {
  const key = choiceKey(child, drill, state.surface);
  if (amount === least) state.supportChoices.delete(key);
  else state.supportChoices.set(key, { amount, less, under: amount < least ? least : null });
  saveChoices();
  changed();
}

/* The whole line goes there: whoever was at another drill, or at a station, is with it again. */
export function chooseDrill(key) {
  closeDraft();
  if (key !== state.drill) {
    state.apart.clear();
    state.lineSince = uuid7();
    state.offPlan = state.rotation !== null;
  }
  state.drill = key;
  if (!state.strip.includes(key)) state.strip.unshift(key);
  saveChoices();
  changed();
}

export function chooseSurface(key) {
  closeDraft();
  state.surface = key;
  saveChoices();
  changed();
}

/* Log a refused turn again, as a new line with the old time, for this child and drill; faults
   that the ladder does not have are left out. The old line is removed. */
export async function correctLine(record, child, drill) {
  // False on a second tap.
  if (!state.records.delete(record.id)) return;
  const { less, ...line } = { ...record.line, ...newLine("turn", {}), child: child.id, drill: drill.key };
  const known = drill.faults.map((fault) => fault.key);
  const surfaces = state.pack.surfaces.map((surface) => surface.key);
  if (!surfaces.includes(line.surface)) line.surface = state.surface;
  if (line.faults) line.faults = line.faults.filter((key) => known.includes(key));
  if (record.code === "clean-with-stop-sign") line.clean = false;
  if (record.code === "bad-angles") delete line.side;
  if (record.code !== "bad-time") copyTime(line, record.line);
  if (less && state.pack.less.includes(less)) line.less = less;
  await addLines([line, ...strikesOf(record)]);
  await removeRecord(record);
}

/* When it was done, and what the clocks were then. */
function copyTime(line, { at, page, mono, offset }) {
  Object.assign(line, { at, page, mono });
  if (offset === undefined) delete line.offset;
  else line.offset = offset;
}

/* Remove a refused line from this tablet. The server keeps it in full for the director. */
export async function dismissLine(record) {
  if (!state.records.delete(record.id)) return;
  const strikes = strikesOf(record);
  if (strikes.length) await addLines(strikes);
  await removeRecord(record);
}

/* A refused turn may still come in from a file that was saved before: struck, it counts for
   nothing then. Where the server holds another turn of the same id, that one is left alone. */
function strikesOf({ answer, meeting: ofMeeting, line }) {
  if (!state.pack || answer !== "refused" || ofMeeting !== meeting || line.kind !== "turn") return [];
  return [newLine("strike", { turn: line.id, code: "other" })];
}

async function removeRecord(record) {
  await state.store.remove([record.id]);
  state.records.delete(record.id);
  changed();
}

export function sendNow() {
  sender?.sendNow();
}

/* Send what others have left on this tablet, under their names. */
export function sendOthers() {
  sender?.sendOthers();
}

function newLine(kind, content, now = Date.now()) {
  const whose = { by: state.pack.me.id, meeting };
  return { kind, id: uuid7(now), at: new Date(now).toISOString(), ...clockFields(), ...whose, ...content };
}

function addLine(line, draft = false) {
  return addLines([line], draft);
}

async function addLines(newLines, draft = false) {
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
  await state.store.put(records);
  // Only now is it shown as logged; it is signed once it is in sight.
  for (const record of records) state.records.set(record.id, record);
  changed();
  const signing = inSight().then(() => signRecords(state.store, records));
  if (!draft) sender?.sendSoon();
  // The next child was tapped before the disk had answered.
  else if (state.draft !== records[0].id) await finishDraft(records[0]);
  await signing;
}

async function saveRecord(record) {
  await state.store.put([record]);
}
