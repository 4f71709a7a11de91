/* A line is signed at the tap, with a key that this browser made for its author's sign-in. The half
   that signs cannot be read out of the browser, and is deleted at sign-out, when somebody else takes
   over, and when the day of the class is over; signed lines wait on. The server looks at a signature
   where somebody else sends the line (progression/log/signatures.py). */

import { readCookie, readJson } from "./answers.js";

const CURVE = { name: "ECDSA", namedCurve: "P-256" };
const SIGNING = { name: "ECDSA", hash: "SHA-256" };
const TIMEOUT = 20_000;

/* A line in one fixed form: keys in order, no spaces. The same as the server's "canonical". */
export function canonical(value) {
  if (Array.isArray(value)) return `[${value.map(canonical).join(",")}]`;
  if (value === null || typeof value !== "object") return JSON.stringify(value);
  const names = Object.keys(value).filter((name) => value[name] !== undefined);
  return `{${names
    .sort()
    .map((name) => `${JSON.stringify(name)}:${canonical(value[name])}`)
    .join(",")}}`;
}

/* False over plain http, and where nothing is kept on the disk. */
export function canSign(store) {
  return Boolean(globalThis.crypto?.subtle) && store.durable;
}

/* Makes this person's key, unless there is one, and tells the server its public half. */
export async function prepareKey(store, author, address, tokenCookie) {
  if (!canSign(store)) return;
  const kept = await store.key(author);
  const made = kept ?? (await makeKey(author));
  const enrolled = await enrol(address, made.open, readCookie(tokenCookie));
  // Somebody else may have signed in since this page was drawn: then it is no key of this author.
  if (enrolled?.staff === author) await store.putKey({ ...made, id: enrolled.id });
}

async function makeKey(author) {
  const { privateKey, publicKey } = await crypto.subtle.generateKey(CURVE, false, ["sign", "verify"]);
  return { author, key: privateKey, open: base64(await crypto.subtle.exportKey("spki", publicKey)) };
}

/* {id, staff}: the id under which the server knows this key, and whose it is; or null. */
async function enrol(address, key, token) {
  try {
    const response = await fetch(address, {
      method: "POST",
      body: JSON.stringify({ key }),
      credentials: "same-origin",
      redirect: "manual",
      cache: "no-store",
      signal: AbortSignal.timeout(TIMEOUT),
      headers: { Accept: "application/json", "Content-Type": "application/json", "X-CSRFToken": token },
    });
    return response.status === 200 ? await readJson(response) : null;
  } catch {
    return null;
  }
}

/* Signs what is not signed yet, each line with its author's key, and keeps the signatures with them
   in one write; a draft too, since somebody else may take over before it is final. What cannot be
   signed goes without. */
export async function signRecords(store, records) {
  const made = new Map();
  try {
    for (const record of records.filter(({ signed }) => !signed)) {
      const { line } = record;
      const found = await store.key(record.author);
      const signed = found ? await sign(found, line) : null;
      // Its faults may have changed meanwhile: then it is being signed anew.
      if (signed === null || record.line !== line) continue;
      record.signed = signed;
      made.set(record.id, signed);
    }
  } catch {
    // The rest goes without.
  }
  if (made.size > 0) await store.attachSignatures(made);
}

async function sign({ id, key }, line) {
  const bytes = new TextEncoder().encode(canonical(line));
  return { key: id, signature: base64(await crypto.subtle.sign(SIGNING, key, bytes)) };
}

function base64(buffer) {
  return btoa(String.fromCharCode(...new Uint8Array(buffer)));
}
