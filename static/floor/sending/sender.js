/* Sends what waits in batches, each of one class and one person. A line leaves the store only when
   an answer of the agreed form names its id with "kept" or "had"; any other answer leaves all
   lines where they are. A class or a line that is refused holds up no other. */

import { originOf } from "../store/packs.js";
import { newestAccepted, parseAnswer, readCookie, readJson } from "./answers.js";
import { adjustClock, page } from "./clock.js";

export const FORM = 3;
const BATCH = 100;
// Pauses and intervals are in milliseconds.
const FIRST_PAUSE = 2_000;
const LONGEST_PAUSE = 60_000;
// A class that is refused is tried again less and less often, at least this often.
const LONGEST_HOLD = 15 * 60_000;
const TIMEOUT = 20_000;
// With nothing to send, ask the server this often whether it still has what it acknowledged.
const BETWEEN_CHECKS = 60_000;
// These concern one class only: the lines of other classes go on.
const OF_ONE_CLASS = ["not-yours", "not-allowed", "not-read", "broken"];
// These may lie in one line of the batch: it is looked for, and waits alone.
const OF_ONE_LINE = ["not-read", "broken"];
// So many lines in a row that break the server by themselves: then it is the server, not they.
const BROKEN_IN_A_ROW = 3;
const ANSWERS = ["kept", "had", "differs", "refused"];

export class Sender {
  #options;
  #timer = null;
  #sending = false;
  // Asked to send while sending: what it was asked for may have been passed over.
  #askedMeanwhile = false;
  #failures = 0;
  #tokenRenewed = false;
  #includesOthers = false;
  #lastContact = -Infinity;
  #batchSize = BATCH;
  // Nothing is sent before this time: new taps do not shorten the pause after a failure.
  #notBefore = -Infinity;
  // Classes and lines that the server refuses for now: group or id -> {until, times, trouble}.
  #held = new Map();

  /* options: store, device, tokenCookie, meeting or null, and these functions:
     author(): the id of the person signed in, or null
     addressOf(meeting): where its lines are sent
     waiting(): the lines that this page believes to wait
     onStoreRead(waiting, stored): the store was read, "stored" is what it holds
     onAnswers([[record, answer], ...], log): after each batch
     onTrouble(key or null, held): "held" has the troubles of single groups and lines
     renewToken(meeting): makes the server set a fresh token cookie, true if it did. */
  constructor(options) {
    this.#options = options;
  }

  sendSoon(delay = 250) {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.#run(), Math.max(delay, this.#notBefore - performance.now()));
  }

  /* The network came back, or somebody asks: do not wait for the timer. */
  sendNow() {
    this.#failures = 0;
    this.#notBefore = -Infinity;
    for (const each of this.#held.values()) each.until = -Infinity;
    this.sendSoon(0);
  }

  /* From now on lines of others on this tablet are sent too, under their names. */
  sendOthers() {
    this.#includesOthers = true;
    this.sendNow();
  }

  async #run() {
    if (this.#sending) {
      this.#askedMeanwhile = true;
      return;
    }
    this.#sending = true;
    this.#askedMeanwhile = false;
    try {
      // Tabs take turns where the browser has locks. Where it has none, the ids still make sure
      // that each line is stored once.
      if (navigator.locks) await this.#sendInTurn();
      else await this.#sendAll();
    } catch {
      // The store could not be read or written. Nothing has left it.
      this.#retryLater("no-answer");
    } finally {
      this.#sending = false;
      if (this.#askedMeanwhile) this.sendSoon(0);
    }
  }

  async #sendInTurn() {
    const ifFree = { ifAvailable: true };
    const hadLock = await navigator.locks.request("floor-send", ifFree, async (lock) => {
      if (lock) await this.#sendAll();
      return lock !== null;
    });
    if (hadLock) return;
    // Another tab is sending: show what waits meanwhile.
    await this.#readStore();
    await navigator.locks.request("floor-send", () => this.#sendAll());
  }

  async #readStore() {
    const waiting = this.#options.waiting();
    const stored = await this.#options.store.all();
    this.#options.onStoreRead(waiting, stored);
    return stored;
  }

  async #sendAll() {
    do {
      const trouble = await this.#sendWaiting();
      if (trouble !== null) return this.#retryLater(trouble);
    } while (await this.#checkLog());
    this.#failures = 0;
    // Forget holds that are over and have no line waiting any longer.
    const now = performance.now();
    for (const [key, { until }] of this.#held) if (until <= now) this.#held.delete(key);
    this.#reportTrouble(null);
    const first = Math.min(...[...this.#held.values()].map(({ until }) => until));
    if (first < Infinity) this.sendSoon(first - now);
  }

  /* Null, or why nothing can be sent now. */
  async #sendWaiting() {
    this.#batchSize = BATCH;
    let brokenAlone = 0;
    for (let batch = await this.#nextBatch(); batch.length > 0; batch = await this.#nextBatch()) {
      const result = await this.#sendBatch(batch);
      if (result === "next") {
        this.#held.delete(groupOf(batch[0]));
        brokenAlone = 0;
      } else if (!OF_ONE_CLASS.includes(result)) return result;
      else if (!OF_ONE_LINE.includes(result)) this.#hold(groupOf(batch[0]), result);
      // Send one by one, so that only the line that cannot be taken waits.
      else if (batch.length > 1) this.#batchSize = 1;
      else {
        this.#hold(batch[0].id, result);
        if (result === "broken") brokenAlone += 1;
        if (brokenAlone === BROKEN_IN_A_ROW) return result;
      }
    }
    return null;
  }

  #hold(key, trouble) {
    const times = (this.#held.get(key)?.times ?? 0) + 1;
    const pause = Math.min(LONGEST_HOLD, LONGEST_PAUSE * 2 ** (times - 1));
    this.#held.set(key, { until: performance.now() + pause, times, trouble });
  }

  #isHeld(record) {
    const now = performance.now();
    return [groupOf(record), record.id].some((key) => this.#held.get(key)?.until > now);
  }

  /* The oldest lines that wait and are final, of one class and one person: the person signed in,
     or anybody after sendOthers(). */
  async #nextBatch() {
    const author = this.#options.author();
    const stored = await this.#readStore();
    const ready = stored.filter(
      (record) =>
        author !== null &&
        (this.#includesOthers || record.author === author) &&
        record.answer === null &&
        !record.draft &&
        !this.#isHeld(record),
    );
    const first = ready[0];
    return ready.filter((record) => groupOf(record) === groupOf(first)).slice(0, this.#batchSize);
  }

  /* "next" when the next batch may go, else what the trouble is. */
  async #sendBatch(batch) {
    const { meeting } = batch[0];
    let answer = await this.#post(meeting, batch);
    if (answer.trouble === "stale-token" && !this.#tokenRenewed) {
      this.#tokenRenewed = true;
      return (await this.#options.renewToken(meeting)) ? "next" : "no-answer";
    }
    // Restored from a backup, the server may not know the class any more: with what this tablet
    // keeps of it, it makes it again.
    if (answer.trouble === "not-yours" && (await this.#noteLog(answer.log, null))) return "next";
    // Whoever tapped these may have lost the class since. By what this tablet keeps of it the server
    // knows that it was theirs, and tells a director.
    if (answer.trouble === "not-yours" && (await this.#options.store.fact(originOf(meeting)))) {
      answer = await this.#post(meeting, batch, true);
    }
    if (answer.trouble) return answer.trouble;
    this.#tokenRenewed = false;
    const known = answer.lines.filter((line) => ANSWERS.includes(line.answer));
    const answers = new Map(known.map((line) => [line.id, line]));
    const answered = batch.filter((record) => answers.has(record.id));
    if (answered.length === 0) {
      return (await this.#noteLog(answer.log, null)) ? "next" : "no-answer";
    }
    await this.#options.onAnswers(
      answered.map((record) => [record, answers.get(record.id)]),
      answer.log,
    );
    await this.#noteLog(answer.log, newestAccepted(answered, answers), meeting);
    this.#failures = 0;
    return "next";
  }

  /* With nothing to send: does the server still have what it acknowledged? True if lines wait
     again. */
  async #checkLog() {
    const heard = await this.#options.store.fact("heard");
    const meeting = this.#options.meeting ?? heard?.meeting;
    if (!heard?.last || !meeting || performance.now() - this.#lastContact < BETWEEN_CHECKS) {
      return false;
    }
    const answer = await this.#post(meeting, []);
    const heardOf = !answer.trouble || answer.trouble === "not-yours";
    return heardOf && (await this.#noteLog(answer.log, null));
  }

  /* If the log has a new name, the server was restored from an older backup: what was acknowledged
     under another name waits again, and the server answers "had" for what it still has. True if
     the name is new. "last": the newest line accepted just now, or null. */
  async #noteLog(log, last, meeting = null) {
    if (typeof log !== "string") return false;
    const { store } = this.#options;
    const heard = await store.fact("heard");
    const renamed = Boolean(heard) && heard.log !== log;
    if (renamed) {
      const sent = await store.sentUnderOtherLogs(log);
      await store.requeue(sent.map(({ id }) => id));
    }
    const newest = last ?? (renamed ? null : (heard?.last ?? null));
    await store.setFact("heard", { log, last: newest, meeting: meeting ?? heard?.meeting });
    return renamed;
  }

  async #post(meeting, batch, withOrigin = false) {
    const heard = await this.#options.store.fact("heard");
    const kept = await this.#options.store.fact(originOf(meeting));
    const asked = performance.now();
    const body = {
      v: FORM,
      device: this.#options.device,
      sent_at: new Date().toISOString(),
      page,
      mono: Math.round(asked),
      // Lines of an older page do not say themselves who logged them.
      author: batch[0]?.author ?? null,
      log: heard?.log ?? null,
      last: heard?.last ?? null,
      // Only a server whose log has another name than then can lack the class.
      origin: kept && (withOrigin || kept.log !== heard?.log) ? kept.origin : null,
      lines: batch.map((record) => record.line),
      signed: signedByOthers(batch, this.#options.author()),
    };
    try {
      const response = await fetch(this.#options.addressOf(meeting), this.#request(body));
      const answer = parseAnswer(response.status, await readJson(response));
      if (!answer.trouble) {
        adjustClock(answer.now, asked);
        this.#lastContact = performance.now();
      }
      return answer;
    } catch {
      return { trouble: "no-answer" };
    }
  }

  #request(body) {
    return {
      method: "POST",
      body: JSON.stringify(body),
      credentials: "same-origin",
      redirect: "manual",
      cache: "no-store",
      signal: AbortSignal.timeout(TIMEOUT),
      headers: {
        Accept: "application/json",
        "Content-Type": "application/json",
        // Read now, not when the line was made: a sign-in changes it.
        "X-CSRFToken": readCookie(this.#options.tokenCookie),
      },
    };
  }

  #reportTrouble(trouble) {
    const held = [...this.#held].map(([key, each]) => [key, each.trouble]);
    this.#options.onTrouble(trouble, new Map(held));
  }

  #retryLater(trouble) {
    this.#reportTrouble(trouble);
    this.#failures += 1;
    this.#tokenRenewed = false;
    const longest = Math.min(LONGEST_PAUSE, FIRST_PAUSE * 2 ** (this.#failures - 1));
    this.#notBefore = performance.now() + longest * (0.75 + Math.random() / 4);
    this.sendSoon(0);
  }
}

/* Who signs in needs no signature for what they tapped themselves. */
function signedByOthers(batch, sender) {
  const others = batch.filter(({ author, signed }) => author !== sender && signed);
  return Object.fromEntries(others.map(({ id, signed }) => [id, signed]));
}

/* Lines of one class and one person are sent together. */
export function groupOf(record) {
  return `${record.meeting} ${record.author}`;
}
