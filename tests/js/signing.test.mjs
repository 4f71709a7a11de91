/* The fixed form of a line and its signature, against the vectors that the server is held to. */

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

globalThis.document ??= { cookie: "" };

const { canonical, canSign, prepareKey, signRecords } = await import("../../static/floor/sending/signing.js");

const CASES = JSON.parse(readFileSync(new URL("../vectors/signing.json", import.meta.url), "utf8"));
const CURVE = { name: "ECDSA", namedCurve: "P-256" };
const SIGNING = { name: "ECDSA", hash: "SHA-256" };
const bytesOf = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));

async function holds(open, signature, line) {
  const key = await crypto.subtle.importKey("spki", bytesOf(open), CURVE, false, ["verify"]);
  const content = new TextEncoder().encode(canonical(line));
  return crypto.subtle.verify(SIGNING, key, bytesOf(signature), content);
}

/* A store of keys and of lines in memory. */
function memoryStore(durable = true) {
  const keys = new Map();
  const attached = new Map();
  return {
    durable,
    attached,
    keys,
    key: async (author) => keys.get(author),
    putKey: async (record) => keys.set(record.author, record),
    attachSignatures: async (made) => {
      for (const [id, signed] of made) attached.set(id, signed);
    },
  };
}

const record = (id, about = {}) => ({ id, author: "me", draft: false, line: { id, by: "me" }, ...about });

function serverSays(status, body) {
  const asked = [];
  globalThis.fetch = async (address, { body: text }) => {
    asked.push([address, JSON.parse(text)]);
    return { status, type: "basic", headers: { get: () => "application/json" }, json: async () => body };
  };
  return asked;
}

test("a line has the form that the server gives it", () => {
  for (const { name, line, canonical: expected } of CASES) assert.equal(canonical(line), expected, name);
  assert.equal(canonical({ b: undefined, a: 1 }), '{"a":1}');
});

test("the server's own signatures hold here", async () => {
  if (!crypto.subtle) return;
  for (const { name, line, key, signature } of CASES) assert.ok(await holds(key, signature, line), name);
});

test("a key is made once, enrolled, and cannot be read out", async () => {
  if (!crypto.subtle) return;
  const store = memoryStore();
  const asked = serverSays(200, { staff: "me", id: "key-1" });
  await prepareKey(store, "me", "/floor/key", "csrftoken");
  const made = store.keys.get("me");
  assert.deepEqual([made.id, asked[0][0]], ["key-1", "/floor/key"]);
  assert.equal(made.key.extractable, false);
  serverSays(200, { staff: "me", id: "key-2" });
  await prepareKey(store, "me", "/floor/key", "csrftoken");
  assert.deepEqual([store.keys.get("me").open, store.keys.get("me").id], [made.open, "key-2"]);
});

test("a key that the server takes for somebody else's is not this author's", async () => {
  if (!crypto.subtle) return;
  const store = memoryStore();
  serverSays(200, { staff: "you", id: "key-1" });
  await prepareKey(store, "me", "/floor/key", "csrftoken");
  assert.equal(store.keys.size, 0);
});

test("what is not signed yet is signed, with its author's own key", async () => {
  if (!crypto.subtle) return;
  const store = memoryStore();
  serverSays(200, { staff: "me", id: "key-1" });
  await prepareKey(store, "me", "/floor/key", "csrftoken");
  const records = [record("1"), record("2", { draft: true }), record("3", { author: "you" })];
  records.push(record("4", { signed: { key: "old", signature: "old" } }));
  await signRecords(store, records);
  assert.deepEqual([...store.attached.keys()], ["1", "2"]);
  const { key, signature } = records[0].signed;
  assert.equal(key, "key-1");
  assert.ok(await holds(store.keys.get("me").open, signature, records[0].line));
  assert.equal(await holds(store.keys.get("me").open, signature, { ...records[0].line, by: "you" }), false);
});

test("a line that changes while it is being signed keeps no signature of what it was", async () => {
  if (!crypto.subtle) return;
  const store = memoryStore();
  serverSays(200, { staff: "me", id: "key-1" });
  await prepareKey(store, "me", "/floor/key", "csrftoken");
  const one = record("1");
  const signing = signRecords(store, [one]);
  one.line = { ...one.line, faults: ["x"] };
  await signing;
  assert.deepEqual([one.signed, store.attached.size], [undefined, 0]);
});

test("without a server, a disk or the browser's help there is no key, and nothing fails", async () => {
  const lost = memoryStore();
  serverSays(503, { error: "busy" });
  await prepareKey(lost, "me", "/floor/key", "csrftoken");
  globalThis.fetch = async () => {
    throw new TypeError("no network");
  };
  await prepareKey(lost, "me", "/floor/key", "csrftoken");
  const gone = memoryStore(false);
  await prepareKey(gone, "me", "/floor/key", "csrftoken");
  const records = [record("1")];
  for (const store of [lost, gone]) {
    await signRecords(store, records);
    assert.equal(store.keys.size, 0);
  }
  assert.equal(records[0].signed, undefined);
  assert.equal(canSign(gone), false);
});
