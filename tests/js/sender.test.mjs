/* The sender, with a store in memory and a server that answers as it is reported. */

import assert from "node:assert/strict";
import { test } from "node:test";

const calls = [];
let answers = [];
let clock = 0;
const timers = new Map();

// Newer versions of node have one of their own.
Object.defineProperty(globalThis, "navigator", { value: {}, configurable: true });
globalThis.document = { cookie: "a=1; csrftoken=one%20token; b=2" };
globalThis.setTimeout = (work, delay) => {
  const id = Symbol();
  timers.set(id, { work, at: clock + delay });
  return id;
};
globalThis.clearTimeout = (id) => timers.delete(id);
globalThis.performance.now = () => clock;
globalThis.fetch = async (address, options) => {
  const call = { address, token: options.headers["X-CSRFToken"], ...JSON.parse(options.body) };
  calls.push(call);
  const next = answers.shift() ?? keepAll;
  return next(call);
};

const { groupOf, Sender } = await import("../../static/floor/sending/sender.js");

function reply(status, body, type = "application/json") {
  return () => ({
    status,
    type: "basic",
    headers: { get: () => type },
    json: async () => body,
  });
}

function lines(call, answer = "kept") {
  return call.lines.map(({ id }) => ({ id, answer, code: "" }));
}

function ok(_call, found, log = "log-1") {
  return reply(200, { v: 2, log, now: "2026-03-04T18:00:00Z", lines: found })();
}

const keepAll = (call) => ok(call, lines(call));

function record(id, about = {}) {
  const { kind = "turn", ...rest } = about;
  return { id, meeting: "m1", author: "me", draft: false, answer: null, line: { id, kind }, ...rest };
}

/* A line store in memory. */
function memoryStore(records) {
  const waiting = new Map(records.map((each) => [each.id, each]));
  const sent = new Map();
  const facts = new Map();
  return {
    waiting,
    sent,
    facts,
    all: async () => [...waiting.values()].sort((one, other) => (one.id < other.id ? -1 : 1)),
    fact: async (name) => facts.get(name),
    setFact: async (name, value) => facts.set(name, value),
    sentUnderOtherLogs: async (log) => [...sent.values()].filter((each) => each.log !== log),
    requeue: async (ids) => {
      for (const id of ids) {
        waiting.set(id, record(id, sent.get(id)));
        sent.delete(id);
      }
    },
    apply: async (pairs, log) => {
      for (const [each, { answer }] of pairs) {
        if (answer === "kept" || answer === "had") {
          waiting.delete(each.id);
          sent.set(each.id, { ...each, log });
        } else waiting.get(each.id).answer = answer;
      }
    },
  };
}

function setUp(records, { me = "me" } = {}) {
  calls.length = 0;
  answers = [];
  timers.clear();
  clock = 0;
  const store = memoryStore(records);
  const { facts, sent } = store;
  const reported = { trouble: null, held: new Map(), renewals: 0 };
  const tablet = { reported, facts, sent, store, waiting: () => [...store.waiting.keys()].sort() };
  tablet.sender = new Sender({
    store,
    device: "tablet-1",
    tokenCookie: "csrftoken",
    author: () => me,
    meeting: "m1",
    addressOf: (meeting) => `/floor/${meeting}/attempts`,
    waiting: () => [],
    onStoreRead: (_waiting, stored) => tablet.onStoreRead?.(stored),
    onAnswers: store.apply,
    onTrouble: (trouble, held) => Object.assign(reported, { trouble, held }),
    renewToken: async () => {
      reported.renewals += 1;
      return true;
    },
  });
  return tablet;
}

/* Let what is due at once run to its end. */
async function settle() {
  for (let at = 0; at < 400; at += 1) await Promise.resolve();
  await new Promise((done) => setImmediate(done));
}

async function pass(ms) {
  clock += ms;
  for (const [id, { work, at }] of [...timers]) {
    if (at > clock) continue;
    timers.delete(id);
    work();
  }
  await settle();
}

async function sendNow(tablet) {
  tablet.sender.sendNow();
  await pass(0);
}

const ids = (count, from = 0) => Array.from({ length: count }, (_, at) => `id-${String(from + at).padStart(4, "0")}`);

test("lines leave in the order of the taps, a hundred at a time", async () => {
  const tablet = setUp(
    ids(250)
      .reverse()
      .map((id) => record(id)),
  );
  await sendNow(tablet);
  assert.deepEqual(
    calls.map((call) => call.lines.length),
    [100, 100, 50],
  );
  assert.deepEqual(
    calls.flatMap((call) => call.lines.map(({ id }) => id)),
    ids(250),
  );
  assert.deepEqual(tablet.waiting(), []);
  assert.equal(calls[0].token, "one token");
  assert.deepEqual(
    calls.map((call) => call.last),
    [null, "id-0099", "id-0199"],
  );
});

const NO_ANSWERS = {
  "a page with status 200": reply(200, "<p>Sign in</p>", "text/html"),
  "JSON of another form": reply(200, { ok: true }),
  null: reply(200, null),
  "a redirect": () => ({ status: 0, type: "opaqueredirect", headers: { get: () => "" } }),
  "a broken connection": () => Promise.reject(new TypeError("Failed to fetch")),
  "a broken body": () => ({
    status: 200,
    type: "basic",
    headers: { get: () => "application/json" },
    json: async () => JSON.parse("{"),
  }),
  "an answer that names other ids": (call) => ok(call, [{ id: "other", answer: "kept" }]),
  "an answer of a kind not agreed": (call) => ok(call, lines(call, "perhaps")),
  "404 as a page": reply(404, "", "text/html"),
  502: reply(502, { error: "broken" }),
};

for (const [what, answer] of Object.entries(NO_ANSWERS)) {
  test(`${what} keeps all`, async () => {
    const tablet = setUp(ids(3).map((id) => record(id)));
    answers = [answer];
    await sendNow(tablet);
    assert.deepEqual(tablet.waiting(), ids(3));
    assert.equal(tablet.reported.trouble, "no-answer");
    await pass(2_000);
    assert.deepEqual(tablet.waiting(), []);
    assert.equal(tablet.reported.trouble, null);
  });
}

test("only what is named leaves", async () => {
  const tablet = setUp(ids(3).map((id) => record(id)));
  answers = [(call) => ok(call, lines(call).slice(1)), reply(503, { error: "busy" })];
  await sendNow(tablet);
  assert.deepEqual(tablet.waiting(), ["id-0000"]);
  assert.equal(tablet.reported.trouble, "busy");
});

test("what is asked for while the sender waits for an answer is not passed over", async () => {
  const tablet = setUp([record("id-0000"), record("id-0001", { author: "another" })]);
  await sendNow(tablet);
  clock += 60_000;
  let answer;
  answers = [
    (call) =>
      new Promise((done) => {
        answer = () => done(keepAll(call));
      }),
  ];
  await sendNow(tablet);
  assert.deepEqual(calls.at(-1).lines, []);
  tablet.sender.sendOthers();
  await pass(0);
  answer();
  await settle();
  await pass(0);
  assert.deepEqual(tablet.waiting(), []);
});

test("a pause grows with each failure and a new tap does not shorten it", async () => {
  const tablet = setUp([record("id-0000")]);
  answers = Array.from({ length: 12 }, () => reply(503, { error: "busy" }));
  await sendNow(tablet);
  const times = [];
  for (let at = 0; at < 3_000 && calls.length < 10; at += 1) {
    const before = calls.length;
    tablet.sender.sendSoon(0);
    await pass(100);
    if (calls.length > before) times.push(clock);
  }
  const pauses = times.map((time, at) => time - (times[at - 1] ?? 0));
  assert.ok(pauses[0] >= 1_500 && pauses[0] <= 2_200, String(pauses));
  for (const [at, pause] of pauses.entries()) {
    assert.ok(pause >= 0.75 * Math.min(60_000, 2_000 * 2 ** at) - 100, String(pauses));
    assert.ok(pause <= Math.min(60_000, 2_000 * 2 ** at) + 200, String(pauses));
  }
  // The network comes back: no waiting.
  const before = calls.length;
  await sendNow(tablet);
  assert.equal(calls.length, before + 1);
});

test("for a class that is no longer theirs goes what was kept of it, and a director has the lines", async () => {
  const tablet = setUp(ids(2).map((id) => record(id)));
  tablet.facts.set("heard", { log: "log-1", last: null, meeting: "m1" });
  tablet.facts.set("origin m1", { origin: "signed by the server", log: "log-1" });
  const aside = (call) => ok(call, lines(call, "refused"));
  answers = [reply(404, { error: "not-found", log: "log-1" }), aside];
  const before = calls.length;
  await sendNow(tablet);
  const asked = calls.slice(before);
  assert.deepEqual(
    asked.map(({ origin }) => origin),
    [null, "signed by the server"],
  );
  assert.deepEqual([...tablet.reported.held], []);
  assert.ok([...tablet.store.waiting.values()].every(({ answer }) => answer === "refused"));
});

test("a class that is refused holds up no other, and is asked about again", async () => {
  const mine = ids(2).map((id) => record(id));
  const others = ids(2, 10).map((id) => record(id, { meeting: "m2" }));
  const tablet = setUp([...mine, ...others]);
  const notYours = reply(404, { error: "not-found" });
  globalThis.fetch = withClass("m2", notYours);
  await sendNow(tablet);
  assert.deepEqual(tablet.waiting(), ids(2, 10));
  assert.equal(tablet.reported.trouble, null);
  assert.deepEqual([...tablet.reported.held], [[groupOf(others[0]), "not-yours"]]);
  const asked = () => calls.filter((call) => call.address.includes("m2")).length;
  assert.equal(asked(), 1);
  await pass(59_000);
  assert.equal(asked(), 1);
  await pass(2_000);
  assert.equal(asked(), 2);
  await pass(61_000);
  assert.equal(asked(), 2);
  await pass(60_000);
  assert.equal(asked(), 3);
  globalThis.fetch = plainFetch;
  await sendNow(tablet);
  assert.deepEqual(tablet.waiting(), []);
  assert.equal(tablet.reported.held.size, 0);
});

const plainFetch = globalThis.fetch;

function withClass(meeting, answer) {
  return (address, options) => {
    if (address.includes(meeting)) answers.unshift(answer);
    return plainFetch(address, options);
  };
}

test("one line that makes a call unreadable waits alone", async () => {
  const tablet = setUp(ids(5).map((id) => record(id)));
  const bad = (call) =>
    call.lines.some(({ id }) => id === "id-0002") ? reply(400, { error: "unreadable" })() : keepAll(call);
  answers = Array.from({ length: 10 }, () => bad);
  await sendNow(tablet);
  assert.deepEqual(tablet.waiting(), ["id-0002"]);
  assert.deepEqual([...tablet.reported.held], [["id-0002", "not-read"]]);
});

for (const [what, broken] of Object.entries({
  "JSON with 500": reply(500, { error: "broken" }),
  "a page with 500": reply(500, "<p>Broken</p>", "text/html"),
})) {
  test(`one line that is answered by ${what} waits alone`, async () => {
    const tablet = setUp(ids(5).map((id) => record(id)));
    const bad = (call) => (call.lines.some(({ id }) => id === "id-0002") ? broken() : keepAll(call));
    answers = Array.from({ length: 20 }, () => bad);
    await sendNow(tablet);
    assert.deepEqual(tablet.waiting(), ["id-0002"]);
    assert.equal(tablet.reported.trouble, null);
    assert.deepEqual([...tablet.reported.held], [["id-0002", "broken"]]);
  });

  test(`a server that answers everything by ${what} is not asked for every line`, async () => {
    const tablet = setUp(ids(100).map((id) => record(id)));
    globalThis.fetch = async (address, options) => {
      calls.push({ address, ...JSON.parse(options.body) });
      return broken();
    };
    await sendNow(tablet);
    assert.equal(calls.length, 4);
    assert.equal(tablet.reported.trouble, "broken");
    globalThis.fetch = plainFetch;
    // The next try is with the others; the three that were tried alone follow a minute later.
    await pass(2_000);
    assert.deepEqual(tablet.waiting(), ids(3));
    await pass(61_000);
    assert.deepEqual(tablet.waiting(), []);
  });
}

test("a refused line stays and is not sent again", async () => {
  const tablet = setUp(ids(2).map((id) => record(id)));
  answers = [
    (call) =>
      ok(call, [
        { id: "id-0000", answer: "refused" },
        { id: "id-0001", answer: "differs" },
      ]),
  ];
  await sendNow(tablet);
  await sendNow(tablet);
  assert.equal(calls.length, 1);
  assert.deepEqual(tablet.waiting(), ids(2));
});

test("drafts wait, and lines of others until somebody says so", async () => {
  const tablet = setUp([record("id-0000", { draft: true }), record("id-0001", { author: "you" }), record("id-0002")]);
  await sendNow(tablet);
  assert.deepEqual(tablet.waiting(), ["id-0000", "id-0001"]);
  tablet.sender.sendOthers();
  await pass(0);
  assert.deepEqual(tablet.waiting(), ["id-0000"]);
  assert.deepEqual(
    calls.map((call) => call.author),
    ["me", "you"],
  );
});

test("what somebody else tapped goes with its signature, what one tapped oneself without", async () => {
  const signed = { key: "k", signature: "s" };
  const tablet = setUp([
    record("id-0001", { signed }),
    record("id-0002", { author: "you", signed }),
    record("id-0003", { author: "you" }),
  ]);
  tablet.sender.sendOthers();
  await pass(1_000);
  const sent = calls.map((call) => [call.author, call.signed]);
  assert.deepEqual(sent, [
    ["me", {}],
    ["you", { "id-0002": signed }],
  ]);
});

test("a stale token is renewed once and the same batch sent again", async () => {
  const tablet = setUp([record("id-0000")]);
  const stale = reply(403, { error: "stale-token" });
  answers = [stale];
  await sendNow(tablet);
  assert.deepEqual([tablet.reported.renewals, tablet.waiting().length], [1, 0]);
  const again = setUp([record("id-0000")]);
  answers = [stale, stale];
  await sendNow(again);
  assert.deepEqual([again.reported.renewals, again.reported.trouble], [1, "stale-token"]);
});

test("a sign-in that has ended keeps all and says so", async () => {
  const tablet = setUp([record("id-0000")]);
  answers = [reply(401, { error: "sign-in" })];
  await sendNow(tablet);
  assert.equal(tablet.reported.trouble, "sign-in");
  assert.deepEqual(tablet.waiting(), ["id-0000"]);
});

test("under a new name of the log all that was acknowledged is sent again", async () => {
  const tablet = setUp(ids(3).map((id) => record(id)));
  await sendNow(tablet);
  assert.deepEqual(tablet.facts.get("heard"), { log: "log-1", last: "id-0002", meeting: "m1" });
  const renamed = (call) => ok(call, lines(call, call.lines.length > 0 ? "had" : "kept"), "log-2");
  answers = [renamed, renamed, renamed];
  // With nothing to send, the server is asked after a while whether it still has everything.
  await pass(59_000);
  await sendNow(tablet);
  assert.equal(calls.length, 1);
  await pass(2_000);
  await sendNow(tablet);
  assert.deepEqual(
    calls.map((call) => call.lines.length),
    [3, 0, 3],
  );
  assert.deepEqual(tablet.waiting(), []);
  assert.ok([...tablet.sent.values()].every(({ log }) => log === "log-2"));
  assert.deepEqual(tablet.facts.get("heard"), { log: "log-2", last: "id-0002", meeting: "m1" });
});

test("a class that the server lost comes back with what the tablet keeps of it", async () => {
  const tablet = setUp(ids(2).map((id) => record(id)));
  tablet.facts.set("heard", { log: "log-1", last: "id-0000", meeting: "m1" });
  tablet.facts.set("origin m1", { origin: "signed", log: "log-1", at: 0 });
  const gone = () => reply(404, { error: "not-found", log: "log-2" })();
  const keep = (call) => ok(call, lines(call), "log-2");
  answers = [gone, keep];
  await sendNow(tablet);
  assert.deepEqual(
    calls.map(({ log, origin }) => [log, origin]),
    [
      ["log-1", null],
      ["log-2", "signed"],
    ],
  );
  assert.deepEqual(tablet.waiting(), []);
});

test("told of the restore before a line is answered, it sends the same lines again", async () => {
  const tablet = setUp(ids(2).map((id) => record(id)));
  tablet.facts.set("heard", { log: "log-1", last: null, meeting: "m1" });
  tablet.facts.set("origin m1", { origin: "signed", log: "log-1", at: 0 });
  const keep = (call) => ok(call, lines(call), "log-2");
  answers = [(call) => ok(call, [], "log-2"), keep];
  await sendNow(tablet);
  assert.deepEqual(
    calls.map(({ origin }) => origin),
    [null, "signed"],
  );
  assert.deepEqual(tablet.waiting(), []);
});

test("a class that is not theirs is held back, and asked about no more often than before", async () => {
  const tablet = setUp(ids(1).map((id) => record(id)));
  tablet.facts.set("heard", { log: "log-1", last: null, meeting: "m2" });
  answers = [() => reply(404, { error: "not-found", log: "log-1" })()];
  await sendNow(tablet);
  assert.equal(calls.length, 1);
  assert.equal(tablet.facts.get("heard").meeting, "m2");
  assert.equal(tablet.waiting().length, 1);
});

test("while another tab sends, what waits is looked at, and sent when that one is done", async () => {
  const tablet = setUp(ids(2).map((id) => record(id)));
  const seen = [];
  tablet.onStoreRead = (all) => seen.push(all.length);
  let free = null;
  const done = new Promise((resolve) => (free = resolve));
  navigator.locks = {
    request: async (_name, ...rest) => {
      if (rest.length === 2) return rest[1](null);
      await done;
      return rest[0]({});
    },
  };
  await sendNow(tablet);
  assert.deepEqual([seen, calls.length], [[2], 0]);
  free();
  await settle();
  assert.deepEqual(tablet.waiting(), []);
  delete navigator.locks;
});

test("a strike that was there already is not what the server is asked about later", async () => {
  const tablet = setUp([record("id-0000"), record("id-0001", { kind: "strike" })]);
  answers = [(call) => ok(call, lines(call, "had"))];
  await sendNow(tablet);
  assert.equal(tablet.facts.get("heard").last, "id-0000");
});
