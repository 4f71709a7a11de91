/* Everything that is asked over the tiles, one sheet at a time. */

import {
  chooseDrill,
  chooseSurface,
  giveSupport,
  lines,
  logTurn,
  putAway,
  sayHurts,
  sendNow,
  strike,
} from "./actions.js";
import { byId, button, fillWith, make } from "./dom.js";
import * as drawings from "./drawings.js";
import { childName, drillName, painName, supportName } from "./names.js";
import * as reading from "./reading.js";
import { changed, state } from "./state.js";
import { clockTime, fill, say, sayCode, sayCount } from "./words.js";

const LAST_TURNS = 12;
const HANDS_ON = 3;
const LONGEST_NUMBER = 3;

// Children and drills for which "all the same" has been said on this page.
const saidAllTheSame = new Set();

export function prepareSheet() {
  byId("sheet-close").addEventListener("click", closeSheet);
}

function openSheet(title, ...content) {
  const sheet = byId("sheet");
  byId("sheet-title").textContent = title;
  fillWith(byId("sheet-body"), ...content);
  byId("sheet-body").scrollTop = 0;
  if (!sheet.open) sheet.showModal();
}

export function closeSheet() {
  byId("sheet").close();
}

/* A button that does one thing and closes the sheet. */
function choice(className, act, ...content) {
  return button(`btn ${className}`, () => {
    closeSheet();
    act();
  }, ...content);
}

function choices(className, ...buttons) {
  return make("div", { class: `options ${className}` }, ...buttons);
}

export function askDrill() {
  const drills = reading.drillsFor(state.pack);
  const groups = state.pack.strands.map((strand) => {
    const own = drills.filter((drill) => drill.strand === strand.key);
    if (own.length === 0) return null;
    return make("section", {}, make("h3", {}, strand.name), choices("drills", own.map(drillChoice)));
  });
  openSheet(say("all-drills"), groups);
}

function drillChoice(drill) {
  const chosen = drill.key === state.drill;
  const option = choice("two", () => chooseDrill(drill.key), drill.name, measureOf(drill));
  option.setAttribute("aria-pressed", chosen);
  return option;
}

export function measureOf(drill) {
  return make("small", {}, sayCode("measures", drill.measure));
}

export function askSurface() {
  const options = state.pack.surfaces.map((surface) => {
    const option = choice("", () => chooseSurface(surface.key), surface.name);
    option.setAttribute("aria-pressed", surface.key === state.surface);
    return option;
  });
  openSheet(say("which-surface"), choices("", options));
}

/* For a child to whom the record says "not this, not now": ask once, then believe the coach.
   What was done is a fact and is kept; the director sees it. */
export function askUnusual(child, drill, act) {
  const key = `${child.id} ${drill.key}`;
  const paused = reading.isPaused(state.pack, child, lines());
  const allowed = reading.supportAllowed(child, drill, state.surface, lines());
  if ((allowed !== null && !paused) || saidAllTheSame.has(key)) {
    act();
    return;
  }
  const log = choice("heed", () => {
    saidAllTheSame.add(key);
    act();
  }, say("all-the-same"));
  openSheet(
    say("not-now", { name: child.name, drill: drill.name }),
    listOf(whyOf(child, drill)),
    make("p", {}, say("kept-and-told")),
    choices("", log),
  );
}

/* Why this child gets more support at this drill, or none of it now, in sentences. */
function whyOf(child, drill) {
  const paused = reading.isPaused(state.pack, child, lines());
  const causes = paused ? ["paused"] : reading.causesOf(child, drill, state.surface);
  return causes.map((cause) => fill(sayCode("reasons", cause), { child: child.name }));
}

function listOf(sentences) {
  if (sentences.length === 0) return null;
  return make("ul", { class: "reasons" }, sentences.map((sentence) => make("li", {}, sentence)));
}

/* Seconds or repetitions by number, then perhaps the next child in line. */
export function askNumber(child, drill) {
  let typed = "";
  const shown = make("output", { class: "number", "aria-live": "polite" });
  const next = nextChild(child);
  const keep = button("btn act wide", () => log(null));
  const keepNext = next ? button("btn wide", () => log(next), say("keep-next", { name: next.name })) : null;

  function show() {
    shown.textContent = typed === "" ? "–" : typed;
    const missing = typed === "";
    keep.disabled = missing;
    if (keepNext) keepNext.disabled = missing;
    keep.textContent = say("keep-number", { n: typed });
  }
  function set(number) {
    typed = String(Math.min(number, drill.most));
    show();
  }
  function press(digit) {
    if (typed.length < LONGEST_NUMBER) set(Number(typed + digit));
  }
  function back() {
    typed = typed.slice(0, -1);
    show();
  }
  function log(following) {
    if (typed === "") return;
    closeSheet();
    logTurn(child, drill, { value: Number(typed) }, !following && drill.faults.length > 0);
    if (following) askUnusual(following, drill, () => askNumber(following, drill));
  }

  const digits = ["1", "2", "3", "4", "5", "6", "7", "8", "9"];
  const keys = digits.map((digit) => button("btn key", () => press(digit), digit));
  const erase = button("btn key", back, "⌫");
  erase.setAttribute("aria-label", say("erase"));
  keys.push(erase, button("btn key", () => press("0"), "0"));
  const more = [1, 5].map((step) =>
    button("btn key", () => set(Number(typed || 0) + step), `+${step}`),
  );
  const pad = make(
    "div",
    { class: "pad" },
    make("div", { class: "keys" }, keys),
    make("div", { class: "pad-side" }, shown, make("div", { class: "steps" }, more), keep, keepNext),
  );
  pad.addEventListener("keydown", (event) => {
    if (/^[0-9]$/.test(event.key)) press(event.key);
    else if (event.key === "Backspace") back();
    else if (event.key === "Enter" && typed !== "") log(null);
    else return;
    event.preventDefault();
  });
  show();
  const measure = sayCode("measures", drill.measure);
  openSheet(say("number-of", { name: child.name, drill: drill.name, measure }), pad);
  keys[0].focus();
}

function nextChild(child) {
  const here = reading.presentChildren(state.pack, lines());
  return here[here.findIndex((one) => one.id === child.id) + 1] ?? null;
}

export function askGrade(child, drill) {
  const options = drill.rubric.poses.map((pose) =>
    choice(
      "pose",
      () => logTurn(child, drill, { value: pose.grade }, pose.grade < drill.most),
      make("strong", {}, String(pose.grade)),
      make("span", {}, [pose.words, pose.also].filter(Boolean).join(" ")),
    ),
  );
  openSheet(
    say("grade-of", { name: child.name, drill: drill.name }),
    make("p", {}, drill.rubric.view),
    choices("poses", options),
  );
}

export function askHurt() {
  const here = reading.presentChildren(state.pack, lines());
  let child = null;
  const places = state.pack.pain.map((pain) =>
    button("btn", () => {
      sayHurts(child, pain.place);
      tellHurt(child, pain);
    }, pain.name),
  );
  const children = here.map((one) =>
    button("btn", (event) => {
      child = one;
      for (const other of children) other.setAttribute("aria-pressed", other === event.currentTarget);
      for (const place of places) place.disabled = false;
    }, one.name),
  );
  for (const place of places) place.disabled = true;
  for (const one of children) one.setAttribute("aria-pressed", "false");
  openSheet(
    say("something-hurts"),
    make(
      "div",
      { class: "hurt" },
      make("section", {}, make("h3", {}, say("who")), choices("children", children)),
      make("section", {}, make("h3", {}, say("where")), choices("", places)),
    ),
  );
}

function tellHurt(child, pain) {
  const name = child.name;
  const told = [say("hurt-kept", { name, place: pain.name })];
  told.push(
    pain.pause
      ? fill(sayCode("reasons", "paused"), { child: name })
      : say("hurt-rest", { name }),
  );
  if (pain.pause) told.push(emergency());
  openSheet(
    say("something-hurts"),
    told.map((sentence) => make("p", { class: "big" }, sentence)),
  );
}

export function askChild() {
  const here = reading.presentChildren(state.pack, lines());
  const options = here.map((child) => button("btn", () => showChild(child), child.name));
  openSheet(say("about-whom"), choices("children", options));
}

/* One child at this drill: what is allowed and why, how sure the record is, and another support
   for the next turns. */
export function showChild(child) {
  const drill = reading.drillOf(state.pack, state.drill);
  const entry = child.drills[drill.key];
  const progress = entry?.sure ?? entry?.best ?? null;
  openSheet(
    say("about", { name: child.name, drill: drill.name }),
    drill.support_logged ? supportChoice(child, drill) : null,
    listOf([...whyOf(child, drill), ...child.notes]),
    progress ? make("p", { class: "big" }, progress.sentence) : null,
    make("p", {}, say("cues", { cues: drill.cues.join(" · ") })),
  );
}

function supportChoice(child, drill) {
  const allowed = reading.supportAllowed(child, drill, state.surface, lines());
  const least = allowed ?? HANDS_ON;
  const plan = reading.supportPlanned(child, drill, state.surface, lines(), state.given);
  const options = state.pack.supports.map(({ amount, name }) => {
    const act = () => {
      if (amount < least) askWhyLess(child, drill, amount, least);
      else giveSupport(child, drill, amount, least);
    };
    const under = amount < least ? make("small", {}, say("less-than-allowed")) : null;
    const words = make("span", {}, name);
    const option = choice("with-blocks", act, drawings.blocks(amount), words, under);
    option.setAttribute("aria-pressed", amount === plan.amount);
    return option;
  });
  return make(
    "section",
    { class: "support-choice" },
    make("p", { class: "big" }, allowedSentence(allowed)),
    make("h3", {}, say("next-support")),
    choices("", options),
    make("p", {}, say("child-may-ask")),
  );
}

function allowedSentence(allowed) {
  if (allowed === null) return say("allowed-none");
  return say("allowed", { support: supportName(allowed) });
}

function askWhyLess(child, drill, amount, least) {
  const options = state.pack.less.map((code) =>
    choice("", () => giveSupport(child, drill, amount, least, code), sayCode("less", code)),
  );
  openSheet(
    say("why-less", { name: child.name, support: supportName(amount) }),
    make("p", {}, say("less-is-told")),
    choices("", options),
  );
}

export function showLastTurns() {
  const turns = reading.ownTurns(state.pack, lines()).slice(0, LAST_TURNS);
  const rows = turns.map(({ child, drill, turn }) =>
    make(
      "li",
      {},
      make("span", { class: "when" }, clockTime(Date.parse(turn.at))),
      make("span", { class: "what" }, make("strong", {}, child.name), ` ${drill.name}: ${outcomeOf(turn)}`),
      make("span", { class: "ends" }, state.pack.strikes.map((code) => strikeButton(turn, code))),
    ),
  );
  const body = rows.length
    ? make("ul", { class: "rows" }, rows)
    : make("p", { class: "big" }, say("no-turns"));
  const note = rows.length ? make("p", {}, say("strike-stays")) : null;
  openSheet(say("last-turns"), note, body);
}

function strikeButton(turn, code) {
  return button("btn", async () => {
    await strike(turn.id, code);
    showLastTurns();
  }, sayCode("strikes", code));
}

export function outcomeOf(turn) {
  if (turn.value !== undefined && turn.value !== null) return String(turn.value);
  if (turn.caught) return say("caught-turn");
  return turn.clean ? say("clean") : say("not-clean");
}

/* What waits and what was refused, each with its reason. */
export function showWaiting() {
  const all = [...state.records.values()];
  const refused = all.filter(reading.isRefused);
  const waiting = all.filter(reading.isWaiting);
  const rows = refused.map((record) =>
    make(
      "li",
      {},
      make("span", { class: "when" }, clockTime(record.at)),
      make(
        "span",
        { class: "what" },
        make("strong", {}, lineInWords(record)),
        ` ${sayCode("refusals", record.code)}`,
      ),
      make("span", { class: "ends" }, button("btn", async () => {
        await putAway([record.id]);
        showWaiting();
      }, say("put-away"))),
    ),
  );
  openSheet(
    say("kept-here"),
    make("p", { class: "big" }, waiting.length ? sayCount("lines-wait", waiting.length) : say("none-waits")),
    waiting.length ? choices("", choice("act", sendNow, say("send-now"))) : null,
    rows.length ? make("h3", {}, sayCount("lines-refused", rows.length)) : null,
    rows.length ? make("ul", { class: "rows" }, rows) : null,
  );
}

function lineInWords({ line }) {
  if (line.kind === "turn") {
    return `${childName(line.child)}, ${drillName(line.drill)}: ${outcomeOf(line)}.`;
  }
  if (line.kind === "hurt") return `${childName(line.child)}: ${painName(line.place)}.`;
  if (line.kind === "here") return `${childName(line.child)}: ${say(line.present ? "here" : "not-here")}.`;
  return say("strike-line");
}

export function showFall() {
  openSheet(
    say("after-a-fall"),
    make("p", { class: "big" }, emergency()),
    make("p", { class: "big" }, say("head-bump")),
    make("p", {}, say("clinician")),
    make("p", {}, say("caution")),
  );
}

export function emergency() {
  const { emergency: number, address } = state.pack.meeting;
  return say("emergency", { number, address });
}

/* Sheets show what was known when they were opened; the tiles go on. */
byId("sheet").addEventListener("close", changed);
