/* The service worker of the floor page. It caches the page's shell, which is the same for
   everybody, and answers with it; classes and turns never go through it. BUILD is defined
   above, by readiness/floor/shell.py. One version keeps one release: page and scripts are
   never mixed. */

const PREFIX = "floor-";
const CACHE = PREFIX + BUILD.version;
const MEETING = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;

/* If anything is missing, none of it is installed and the worker before stays in charge. A new
   one waits until the last page of the old one is closed, or until a page says so. */
self.addEventListener("install", (event) => {
  event.waitUntil(fillCache());
});

self.addEventListener("activate", (event) => {
  event.waitUntil(deleteOldCaches());
});

self.addEventListener("message", (event) => {
  if (event.data === "take-over") self.skipWaiting();
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (request.method !== "GET" || address.origin !== location.origin) return;
  if (request.mode === "navigate") {
    if (isFloorPage(address.pathname)) event.respondWith(answerFromCache(event, BUILD.shell));
  } else if (address.pathname === BUILD.words || BUILD.files.includes(address.pathname)) {
    event.respondWith(answerFromCache(event, address.pathname));
  }
});

function isFloorPage(path) {
  if (!path.startsWith(BUILD.scope)) return false;
  const rest = path.slice(BUILD.scope.length);
  return rest === "" || MEETING.test(rest);
}

async function fillCache() {
  const [page, words, ...files] = await Promise.all([
    fetchOfRelease(BUILD.shell, BUILD.shell_sha256),
    fetchOfRelease(BUILD.words, BUILD.words_sha256),
    ...BUILD.files.map((file) => fetchWhole(file, "default")),
  ]);
  const cache = await caches.open(CACHE);
  await Promise.all([
    cache.put(BUILD.shell, page),
    cache.put(BUILD.words, words),
    ...files.map((file, at) => cache.put(BUILD.files[at], file)),
  ]);
}

async function fetchWhole(address, cache) {
  const response = await fetch(address, { cache, redirect: "error", credentials: "same-origin" });
  if (response.status !== 200) throw new Error(`${address}: ${response.status}`);
  return response;
}

/* The page, or its words, of this very release, or none: between two answers the release may have
   changed. */
async function fetchOfRelease(address, digestWanted) {
  const page = await fetchWhole(address, "no-store");
  const bytes = await page.clone().arrayBuffer();
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  const hex = [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  if (hex !== digestWanted) throw new Error(`${address} is of another release.`);
  return page;
}

async function deleteOldCaches() {
  const names = await caches.keys();
  const old = names.filter((name) => name.startsWith(PREFIX) && name !== CACHE);
  await Promise.all(old.map((name) => caches.delete(name)));
}

async function answerFromCache(event, key) {
  const cached = await caches.match(key, { cacheName: CACHE, ignoreVary: true });
  if (cached) return cached;
  // The browser, or a sign-out, has deleted the cache: ask the network, and fill it again.
  event.waitUntil(refillCache());
  return fetch(event.request);
}

let filling = null;

function refillCache() {
  filling ??= fillCache()
    .catch(() => {})
    .finally(() => (filling = null));
  return filling;
}
