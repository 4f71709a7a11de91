/* What waits on this tablet and what was refused: each refused line with its reason, and a way to
   correct it or to put it away. What waits can be saved to a file as well. */

import { childName, drillName, painName, surfaceName } from "../drawing/code_names.js";
import { button, make } from "../drawing/dom.js";
import { storageNotes } from "../drawing/page_notes.js";
import { clockTime, say, sayCode, sayCount } from "../drawing/words.js";
import { correctLine, dismissLine, sendNow } from "../entry/actions.js";
import { closeSheet, openSheet, outcomeOf } from "../entry/sheets.js";
import { drillOf, drillsFor, isRefused, isWaiting } from "../rules/reading.js";
import { address, meeting, state } from "../state.js";
import { originOf } from "../store/packs.js";
import { clockOffset } from "./clock.js";
import { FORM } from "./sender.js";

const FILE_LIFETIME = 60_000;

// Refusals that another child, drill, surface or fault can correct. A turn whose form is broken is
// logged again.
const CORRECTABLE = [
  "not-in-class",
  "unknown-drill",
  "unknown-surface",
  "unknown-fault",
  "unknown-reason",
  "clean-with-stop-sign",
  "bad-value",
  "bad-time",
];

export function showWaiting() {
  const all = [...state.records.values()];
  const refused = all.filter(isRefused);
  const waiting = all.filter(isWaiting);
  const rows = refused.map(drawRefused);
  openSheet(
    say("kept-here"),
    make("p", { class: "big" }, waiting.length ? sayCount("lines-wait", waiting.length) : say("none-waits")),
    make(
      "div",
      { class: "options" },
      waiting.length ? button("btn act", sendAndClose, say("send-now")) : null,
      all.length ? button("btn", saveToFile, say("save-file")) : null,
    ),
    all.length ? make("p", {}, say("file-how", { address: outboxFile() })) : null,
    rows.length ? make("h3", {}, sayCount("lines-refused", rows.length)) : null,
    rows.length ? make("ul", { class: "rows" }, rows) : null,
    storageNotes(),
  );
}

function sendAndClose() {
  closeSheet();
  sendNow();
}

function outboxFile() {
  return new URL(document.documentElement.dataset.outboxFile, location.href).href;
}

function drawRefused(record) {
  const ends = [
    button(
      "btn",
      async () => {
        await dismissLine(record);
        showWaiting();
      },
      say("put-away"),
    ),
  ];
  if (record.meeting !== meeting) {
    ends.unshift(make("a", { class: "btn act", href: address(record.meeting) }, say("open-class")));
  } else if (isMine(record) && record.line.kind === "turn" && CORRECTABLE.includes(record.code)) {
    ends.unshift(button("btn act", () => chooseDrill(record), say("mend")));
  }
  return make(
    "li",
    {},
    make("span", { class: "when" }, clockTime(record.at)),
    make("span", { class: "what" }, ...describeRefusal(record)),
    make("span", { class: "ends" }, ends),
  );
}

/* What one coach saw, no other one logs. */
function isMine(record) {
  return record.author === state.pack?.me.id;
}

function describeRefusal(record) {
  return [make("strong", {}, describeLine(record)), ` ${sayCode("refusals", record.code)}`];
}

/* The drill, where the ladder has it no longer or the number does not fit it; then the child. */
function chooseDrill(record) {
  const drill = drillOf(state.pack, record.line.drill);
  if (drill && record.code !== "bad-value") return chooseChild(record, drill);
  const rows = drillsFor(state.pack)
    .filter((each) => fitsDrill(each, record.line))
    .map((each) => button("btn", () => chooseChild(record, each), each.name));
  return openSheet(
    say("mend-what"),
    make("p", { class: "big" }, ...describeRefusal(record)),
    rows.length ? make("div", { class: "options" }, rows) : make("p", {}, say("mend-nothing")),
  );
}

function fitsDrill(drill, { clean, value }) {
  return typeof clean === "boolean"
    ? drill.measure === "clean"
    : drill.measure !== "clean" && value >= 0 && value <= drill.most;
}

/* The turn again, as a new line: of this child, at this drill, with faults that the ladder has. */
function chooseChild(record, drill) {
  const children = state.pack.children.map((child) => {
    const choose = button(
      "btn",
      async () => {
        await correctLine(record, child, drill);
        showWaiting();
      },
      child.name,
    );
    choose.setAttribute("aria-pressed", child.id === record.line.child);
    return choose;
  });
  openSheet(
    say("mend-whose"),
    make("p", { class: "big" }, ...describeRefusal(record)),
    make("p", {}, say("mend-how")),
    make("div", { class: "options children" }, children),
  );
}

function describeLine({ line, meeting: ofMeeting }) {
  if (ofMeeting !== meeting) return say("another-class");
  if (line.kind === "turn") {
    return `${childName(line.child)}, ${drillName(line.drill)}: ${outcomeOf(line)}.`;
  }
  if (line.kind === "hurt") return `${childName(line.child)}: ${painName(line.place)}.`;
  if (line.kind === "gone") return `${childName(line.child)}: ${say("gone", { place: painName(line.place) })}.`;
  if (line.kind === "told") return `${childName(line.child)}: ${sayCode("whom", line.whom)}.`;
  if (line.kind === "growing") return `${childName(line.child)}: ${say("growing-tap")}.`;
  if (line.kind === "fell") return `${childName(line.child)}: ${say("a-fall")}.`;
  if (line.kind === "no-hands") return `${childName(line.child)}: ${say("no-hands")}.`;
  if (line.kind === "here") return `${childName(line.child)}: ${say(line.present ? "here" : "not-here")}.`;
  if (line.kind === "class-over") return say("class-over");
  if (line.kind === "rotation") return `${say("begin-rotation", { n: line.number })}.`;
  if (line.kind === "hall")
    return line.surface ? `${say(line.what)}: ${surfaceName(line.surface)}.` : `${say(line.what)}.`;
  return say("strike-line");
}

/* Ids and codes, no names. The lines go on waiting here: sent twice, they are stored once. */
async function saveToFile() {
  const records = [...state.records.values()]
    .filter((record) => !record.draft && (isWaiting(record) || isRefused(record)))
    .map(({ meeting: ofMeeting, author, line, signed }) => ({ meeting: ofMeeting, author, line, signed }));
  const saved_at = new Date().toISOString();
  const origins = {};
  for (const { meeting: of } of records) origins[of] = (await state.store.fact(originOf(of)))?.origin;
  const offset = clockOffset() ?? 0;
  const content = { v: FORM, device: state.device, saved_at, offset, records, origins };
  const file = new Blob([JSON.stringify(content)], { type: "application/json" });
  const link = make("a", {
    href: URL.createObjectURL(file),
    download: `${state.device}-${saved_at.slice(0, 10)}.json`,
  });
  link.click();
  // Some browsers read it only after the click.
  setTimeout(() => URL.revokeObjectURL(link.href), FILE_LIFETIME);
}
