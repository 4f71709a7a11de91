/* Sends what waits, one batch at a time. A line leaves the box only when an answer of the
   agreed form names its id with "kept" or "had"; whatever else comes back keeps all. */

const FORM = 1;
const BATCH = 100;
const FIRST_PAUSE = 2_000;
const LONGEST_PAUSE = 60_000;
const PATIENCE = 20_000;

/* options: box, device, tokenCookie, author() the signed-in person's id or null,
   addressOf(meeting), known() the lines this page believes to wait, seen(known, all) with what
   the box then holds, answered([[record, answer], ...]) after a batch, trouble(key or null),
   renewToken() which makes the server set a fresh token cookie. */
export function makeSender(options) {
  let timer = null;
  let sending = false;
  let failures = 0;
  let renewed = false;

  function soon(delay = 250) {
    clearTimeout(timer);
    timer = setTimeout(run, delay);
  }

  async function run() {
    if (sending) return;
    sending = true;
    try {
      // Tabs take turns where the browser can arrange it; where not, the ids still see to it
      // that each line is stored once.
      if (navigator.locks) await navigator.locks.request("floor-send", sendAll);
      else await sendAll();
    } catch {
      // The box could not be read or written. Nothing has left it.
      wait("no-answer");
    } finally {
      sending = false;
    }
  }

  async function sendAll() {
    for (let batch = await nextBatch(); batch.length > 0; batch = await nextBatch()) {
      const result = await sendBatch(batch);
      if (result !== "next") {
        wait(result);
        return;
      }
    }
    failures = 0;
    options.trouble(null);
  }

  /* The oldest lines that wait and are final, of one meeting, of the person signed in. */
  async function nextBatch() {
    const author = options.author();
    const known = options.known();
    const all = await options.box.all();
    options.seen(known, all);
    const waiting = all.filter(
      (record) => record.author === author && record.answer === null && !record.draft,
    );
    const first = waiting[0];
    return waiting.filter((record) => record.meeting === first.meeting).slice(0, BATCH);
  }

  async function sendBatch(batch) {
    const answer = await post(batch);
    if (answer.trouble === "stale-token" && !renewed) {
      renewed = true;
      return (await options.renewToken()) ? "next" : "no-answer";
    }
    if (answer.trouble) return answer.trouble;
    renewed = false;
    const named = new Map(answer.lines.map((line) => [line.id, line]));
    const answered = batch.filter((record) => named.has(record.id));
    if (answered.length === 0) return "no-answer";
    await options.answered(answered.map((record) => [record, named.get(record.id)]));
    failures = 0;
    return "next";
  }

  async function post(batch) {
    const body = {
      v: FORM,
      device: options.device,
      sent_at: new Date().toISOString(),
      lines: batch.map((record) => record.line),
    };
    try {
      const response = await fetch(options.addressOf(batch[0].meeting), {
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
      return understand(response.status, await readJson(response));
    } catch {
      return { trouble: "no-answer" };
    }
  }

  function wait(trouble) {
    options.trouble(trouble);
    failures += 1;
    const longest = Math.min(LONGEST_PAUSE, FIRST_PAUSE * 2 ** (failures - 1));
    soon(longest * (0.75 + Math.random() / 4));
    renewed = false;
  }

  /* The network came back, or somebody asks: do not wait for the timer. */
  function now() {
    failures = 0;
    soon(0);
  }

  return { soon, now };
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
  if (status === 200 && Array.isArray(data.lines)) return { trouble: null, lines: data.lines };
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
