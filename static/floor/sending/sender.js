/* Sends what waits, one batch at a time: of one class and one person each. A line leaves the box
   only when an answer of the agreed form names its id with "kept" or "had"; whatever else comes
   back keeps all, and what one class or one line is refused for holds up no other. */

import { hearTime, page } from "./clock.js";

export const FORM = 2;
const BATCH = 100;
const FIRST_PAUSE = 2_000;
const LONGEST_PAUSE = 60_000;
// One class that is refused is asked about less and less often.
const LONGEST_HOLD = 15 * 60_000;
const PATIENCE = 20_000;
// With nothing to send, ask the server this often whether it still has what it acknowledged.
const BETWEEN_HELLOS = 60_000;
// Troubles that are one class's own: the lines of the others go on.
const OF_ONE_CLASS = ["not-yours", "not-allowed", "not-read"];
const ANSWERS = ["kept", "had", "differs", "refused"];

/* options: box, device, tokenCookie, author() the signed-in person's id or null,
   addressOf(meeting), meeting or null, known() the lines this page believes to wait,
   seen(known, all) with what the box then holds, answered([[record, answer], ...], log) after a
   batch, trouble(key or null, held) with the troubles of single groups by groupOf(record),
   renewToken(meeting) which makes the server set a fresh token cookie. */
export function makeSender(options) {
  let timer = null;
  let sending = false;
  let failures = 0;
  let renewed = false;
  let others = false;
  let contacted = -Infinity;
  let most = BATCH;
  // Nothing is sent before then: new taps do not shorten the pause after a failure.
  let notBefore = -Infinity;
  // What the server would not take just now, a class's lines or a single one, by group or id:
  // {until, times, trouble}.
  const held = new Map();

  function soon(delay = 250) {
    clearTimeout(timer);
    timer = setTimeout(run, Math.max(delay, notBefore - performance.now()));
  }

  async function run() {
    if (sending) return;
    sending = true;
    try {
      // Tabs take turns where the browser can arrange it; where not, the ids still see to it
      // that each line is stored once.
      if (navigator.locks) await sendInTurn();
      else await sendAll();
    } catch {
      // The box could not be read or written. Nothing has left it.
      wait("no-answer");
    } finally {
      sending = false;
    }
  }

  async function sendInTurn() {
    const asked = { ifAvailable: true };
    const mine = await navigator.locks.request("floor-send", asked, async (lock) => {
      if (lock) await sendAll();
      return lock !== null;
    });
    if (mine) return;
    // Another tab is at it: this one tells what waits there all the same.
    await look();
    await navigator.locks.request("floor-send", sendAll);
  }

  async function look() {
    const known = options.known();
    const all = await options.box.all();
    options.seen(known, all);
    return all;
  }

  async function sendAll() {
    do {
      const trouble = await sendWaiting();
      if (trouble !== null) return wait(trouble);
    } while (await hello());
    failures = 0;
    // What was held and has no line waiting any longer.
    const now = performance.now();
    for (const [key, { until }] of held) if (until <= now) held.delete(key);
    tell(null);
    const first = Math.min(...[...held.values()].map(({ until }) => until));
    if (first < Infinity) soon(first - now);
  }

  /* Null, or why nothing can be sent now. */
  async function sendWaiting() {
    for (let batch = await nextBatch(); batch.length > 0; batch = await nextBatch()) {
      const result = await sendBatch(batch);
      if (result === "next") held.delete(groupOf(batch[0]));
      else if (!OF_ONE_CLASS.includes(result)) return result;
      else if (result !== "not-read") hold(groupOf(batch[0]), result);
      // One of them cannot be read: each by itself, and that one waits alone.
      else if (batch.length === 1) hold(batch[0].id, result);
      else most = 1;
    }
    most = BATCH;
    return null;
  }

  function hold(key, trouble) {
    const times = (held.get(key)?.times ?? 0) + 1;
    const pause = Math.min(LONGEST_HOLD, LONGEST_PAUSE * 2 ** (times - 1));
    held.set(key, { until: performance.now() + pause, times, trouble });
  }

  function isHeld(record) {
    const now = performance.now();
    return [groupOf(record), record.id].some((key) => held.get(key)?.until > now);
  }

  /* The oldest lines that wait and are final, of one class and one person. Somebody else's only
     when the person signed in has said so. */
  async function nextBatch() {
    const author = options.author();
    const all = await look();
    const waiting = all.filter(
      (record) =>
        author !== null &&
        (others || record.author === author) &&
        record.answer === null &&
        !record.draft &&
        !isHeld(record),
    );
    const first = waiting[0];
    return waiting.filter((record) => groupOf(record) === groupOf(first)).slice(0, most);
  }

  async function sendBatch(batch) {
    const answer = await post(batch[0].meeting, batch);
    if (answer.trouble === "stale-token" && !renewed) {
      renewed = true;
      return (await options.renewToken(batch[0].meeting)) ? "next" : "no-answer";
    }
    if (answer.trouble) return answer.trouble;
    renewed = false;
    const known = answer.lines.filter((line) => ANSWERS.includes(line.answer));
    const named = new Map(known.map((line) => [line.id, line]));
    const answered = batch.filter((record) => named.has(record.id));
    if (answered.length === 0) return "no-answer";
    await options.answered(
      answered.map((record) => [record, named.get(record.id)]),
      answer.log,
    );
    await hearLog(answer.log, newestKept(answered, named), batch[0].meeting);
    failures = 0;
    return "next";
  }

  /* With nothing to send: has the server what it acknowledged? True if lines wait again. */
  async function hello() {
    const heard = await options.box.fact("heard");
    const meeting = options.meeting ?? heard?.meeting;
    if (!heard?.last || !meeting || performance.now() - contacted < BETWEEN_HELLOS) {
      return false;
    }
    const answer = await post(meeting, []);
    return !answer.trouble && (await hearLog(answer.log, null, meeting));
  }

  /* The log has a new name: the server was restored from an older backup. What was acknowledged
     under another name waits again; what it still has, it will say it had. */
  async function hearLog(log, last, meeting) {
    if (typeof log !== "string") return false;
    const heard = await options.box.fact("heard");
    const renamed = Boolean(heard) && heard.log !== log;
    if (renamed) {
      const before = await options.box.sentAll(log);
      await options.box.requeue(before.map(({ id }) => id));
    }
    const kept = last ?? (renamed ? null : (heard?.last ?? null));
    await options.box.setFact("heard", { log, last: kept, meeting });
    return renamed;
  }

  async function post(meeting, batch) {
    const heard = await options.box.fact("heard");
    const asked = performance.now();
    const body = {
      v: FORM,
      device: options.device,
      sent_at: new Date().toISOString(),
      page,
      mono: Math.round(asked),
      // Lines of an older page do not say themselves whose they are.
      author: batch[0]?.author ?? null,
      log: heard?.log ?? null,
      last: heard?.last ?? null,
      lines: batch.map((record) => record.line),
    };
    try {
      const response = await fetch(options.addressOf(meeting), {
        method: "POST",
        body: JSON.stringify(body),
        credentials: "same-origin",
        redirect: "manual",
        cache: "no-store",
        signal: AbortSignal.timeout(PATIENCE),
        headers: {
          Accept: "application/json",
          "Content-Type": "application/json",
          // Read now, not when the line was made: a sign-in changes it.
          "X-CSRFToken": readCookie(options.tokenCookie),
        },
      });
      const answer = understand(response.status, await readJson(response));
      if (!answer.trouble) {
        hearTime(answer.now, asked);
        contacted = performance.now();
      }
      return answer;
    } catch {
      return { trouble: "no-answer" };
    }
  }

  function tell(trouble) {
    options.trouble(trouble, new Map([...held].map(([key, each]) => [key, each.trouble])));
  }

  function wait(trouble) {
    tell(trouble);
    failures += 1;
    renewed = false;
    const longest = Math.min(LONGEST_PAUSE, FIRST_PAUSE * 2 ** (failures - 1));
    notBefore = performance.now() + longest * (0.75 + Math.random() / 4);
    soon(0);
  }

  /* The network came back, or somebody asks: do not wait for the timer. */
  function now() {
    failures = 0;
    notBefore = -Infinity;
    for (const each of held.values()) each.until = -Infinity;
    soon(0);
  }

  /* Whoever is signed in sends what others have left on this tablet, under their names. */
  function sendOthers() {
    others = true;
    now();
  }

  return { soon, now, sendOthers };
}

export function groupOf(record) {
  return `${record.meeting} ${record.author}`;
}

/* The newest line that the server must have from now on. A strike that it "had" may be another
   strike of the same turn: then it does not keep this one. */
function newestKept(answered, named) {
  const kept = answered.filter(({ id, line }) => {
    const { answer } = named.get(id);
    return answer === "kept" || (answer === "had" && line.kind !== "strike");
  });
  return kept.at(-1)?.id ?? null;
}

const TROUBLES = {
  400: "not-read",
  401: "sign-in",
  403: "not-allowed",
  404: "not-yours",
  413: "not-read",
  503: "busy",
};

function understand(status, data) {
  if (data === null) return { trouble: "no-answer" };
  if (status === 200 && Array.isArray(data.lines)) {
    return { trouble: null, lines: data.lines, log: data.log, now: data.now };
  }
  if (status === 403 && data.error === "stale-token") return { trouble: "stale-token" };
  if (typeof data.error === "string" && status in TROUBLES) return { trouble: TROUBLES[status] };
  return { trouble: "no-answer" };
}

/* The JSON of an answer, or null for anything else: a page that says "sign in" with 200 is
   not an answer, and neither is a redirect. */
export async function readJson(response) {
  const type = response.headers.get("Content-Type") ?? "";
  if (response.type === "opaqueredirect" || !type.startsWith("application/json")) return null;
  const data = await response.json();
  return typeof data === "object" ? data : null;
}

function readCookie(name) {
  for (const part of document.cookie.split("; ")) {
    if (part.startsWith(`${name}=`)) return decodeURIComponent(part.slice(name.length + 1));
  }
  return "";
}
