/* The whole evening's turns, by child or by drill: each can be struck, or logged again with what was
   wrong changed, in one tap. */

import { supportName } from "../drawing/code_names.js";
import { button, make } from "../drawing/dom.js";
import { clockTime, joinList, say, sayCode } from "../drawing/words.js";
import { turnsTonight } from "../rules/evening.js";
import * as reading from "../rules/reading.js";
import { state } from "../state.js";
import { lines, logAgain, strike } from "./actions.js";
import { readyNotes } from "./note.js";
import { ownReportRows } from "./own_reports.js";
import { choices, openSheet, outcomeOf } from "./sheets.js";

const BY = { child: ({ child }) => child, drill: ({ drill }) => drill };

/* "by": "child" or "drill", "key": which one; without them all of the evening's. */
export function showTurns(by = null, key = null) {
  const all = turnsTonight(state.pack, lines());
  const found = by ? all.filter((each) => keyOf(BY[by](each)) === key) : all;
  const again = () => showTurns(by, key);
  const reports = by ? [] : ownReportRows(again);
  const rows = found.map((each) => drawTurn(each, again));
  const filters = [
    button("btn", () => showTurns(), say("turns-all")),
    button("btn", () => chooseBy("child", all), say("turns-by-child")),
    button("btn", () => chooseBy("drill", all), say("turns-by-drill")),
  ];
  openSheet(
    by && found.length ? say("turns-of", { name: BY[by](found[0]).name }) : say("turns-tonight"),
    choices("filters", filters),
    rows.length || reports.length ? make("p", {}, say("strike-stays")) : null,
    reports.length ? make("ul", { class: "rows" }, reports) : null,
    rows.length ? null : make("p", { class: "big" }, say("no-turns")),
    make("ul", { class: "rows" }, rows),
  );
}

function keyOf({ id, key }) {
  return id ?? key;
}

/* Of those who had a turn tonight, or of what was done. */
function chooseBy(by, all) {
  const named = new Map(all.map((each) => [keyOf(BY[by](each)), BY[by](each).name]));
  const options = [...named].map(([key, name]) => button("btn", () => showTurns(by, key), name));
  openSheet(say(`turns-by-${by}`), choices("children", options));
}

/* One's own turns; a coach strikes others' as well, but logs nothing that somebody else saw. */
function drawTurn(each, then) {
  const { child, drill, turn } = each;
  const ends =
    turn.mine || state.pack.me.grades ? state.pack.strikes.map((code) => strikeButton(turn, code, then)) : [];
  if (turn.mine) ends.push(button("btn act", () => openAgain(each, then), say("log-again")));
  return make(
    "li",
    {},
    make("span", { class: "when" }, clockTime(Date.parse(turn.at))),
    make(
      "span",
      { class: "what" },
      make("strong", {}, child.name),
      ` ${drill.name}: ${detailsOf(drill, turn)}`,
      state.store.onlyInMemory().includes(turn.id) ? make("small", {}, ` · ${say("only-in-this-page")}`) : null,
    ),
    make("span", { class: "ends" }, ends),
  );
}

function detailsOf(drill, turn) {
  const seen = drill.faults.filter((fault) => turn.faults?.includes(fault.key)).map((fault) => fault.sees);
  const support = drill.support_logged ? [supportName(turn.support)] : [];
  return joinList([outcomeOf(turn), ...support, ...seen, ...(turn.mine ? [] : [say("by-another")])]);
}

function strikeButton(turn, code, then) {
  const act = async () => {
    await strike(turn.id, code);
    then();
  };
  return button("btn", act, sayCode("strikes", code));
}

/* What was it really? One tap strikes the turn and logs it again so. */
function openAgain(each, then) {
  const { child, drill, turn } = each;
  const one = (name, changes, code) => {
    const act = async () => {
      await logAgain(each, changes, code);
      then();
    };
    return button("btn", act, name);
  };
  const section = (title, options) =>
    options.length ? make("section", {}, make("h3", {}, say(title)), choices("children", options)) : null;
  const children = reading.presentChildren(state.pack, lines()).filter(({ id }) => id !== child.id);
  const drills = reading.drillsFor(state.pack).filter((other) => other.measure === drill.measure && other !== drill);
  const supports = drill.support_logged ? state.pack.supports.filter(({ amount }) => amount !== turn.support) : [];
  openSheet(
    say("again-of", { name: child.name, drill: drill.name, outcome: detailsOf(drill, turn) }),
    make("p", {}, say("again-how")),
    readyNotes(child, turn.id, then),
    section("again-outcome", outcomes(drill, turn, one)),
    section("what-was-seen", faultsOf(drill, turn, one)),
    section(
      "again-support",
      supports.map(({ amount, name }) => one(name, { support: amount, less: null }, "other")),
    ),
    section(
      "mend-whose",
      children.map(({ id, name }) => one(name, { child: id, less: null }, "wrong-child")),
    ),
    section(
      "mend-what",
      drills.map((other) => one(other.name, atDrill(other, turn), "wrong-drill")),
    ),
  );
}

function outcomes(drill, turn, one) {
  if (drill.measure !== "clean") return [];
  if (turn.clean) return [one(say("not-clean"), { clean: false }, "wrong-tap")];
  return [one(say("clean"), { clean: true, faults: null, caught: null }, "wrong-tap")];
}

/* A turn with a stop sign is not clean. */
function faultsOf(drill, turn, one) {
  const seen = turn.faults ?? [];
  const options = drill.faults.map((fault) => {
    const faults = seen.includes(fault.key) ? seen.filter((key) => key !== fault.key) : [...seen, fault.key];
    const stops = faults.length > seen.length && turn.clean && fault.stop === "yes";
    const option = one(fault.sees, { faults, ...(stops ? { clean: false } : {}) }, "other");
    option.setAttribute("aria-pressed", seen.includes(fault.key));
    return option;
  });
  if (!drill.support_logged) return options;
  const caught = one(say("caught"), { caught: !turn.caught, ...(turn.clean ? { clean: false } : {}) }, "other");
  caught.setAttribute("aria-pressed", turn.caught === true);
  return [...options, caught];
}

/* Faults that the other drill does not have are left out. */
function atDrill(drill, turn) {
  const known = drill.faults.map((fault) => fault.key);
  const faults = turn.faults?.filter((key) => known.includes(key));
  const without = drill.support_logged ? {} : { support: 0, caught: null };
  return { drill: drill.key, less: null, faults, ...without };
}
