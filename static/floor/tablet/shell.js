/* The page's shell: the service worker that caches it, the newer version that waits, and whether
   the browser promises to keep what this page stores. */

import { changed, shellAddress, state } from "../state.js";

// A page may stay open for weeks: look for a newer version this often, in milliseconds.
const CHECK_EVERY = 30 * 60_000;

let registration = null;
// Another tab has applied the newer version: this page goes on with its own scripts until it is
// loaded again.
let replaced = false;

export async function prepareShell() {
  requestPersistence();
  // Over plain http there are no service workers, and in some private windows neither.
  if (!navigator.serviceWorker) return;
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    replaced = true;
    changed();
  });
  try {
    const options = { updateViaCache: "none" };
    registration = await navigator.serviceWorker.register(shellAddress("sw.js"), options);
  } catch {
    return;
  }
  registration.addEventListener("updatefound", watchInstalling);
  watchInstalling();
  setInterval(checkForUpdate, CHECK_EVERY);
}

function watchInstalling() {
  registration.installing?.addEventListener("statechange", changed);
  changed();
}

/* The page, but not the class, is available without a network. */
export function isCached() {
  return Boolean(registration?.active);
}

export function cannotCache() {
  return !navigator.serviceWorker;
}

export function hasUpdate() {
  return replaced || Boolean(registration?.waiting && registration.active);
}

/* Activate the newer version and load it, once. */
export async function applyUpdate() {
  const waiting = registration?.waiting;
  if (!waiting) {
    location.reload();
    return;
  }
  waiting.addEventListener("statechange", () => {
    if (waiting.state === "activated") location.reload();
  });
  waiting.postMessage("take-over");
}

/* The server speaks a newer form than this page: fetch the newer version, then apply it. */
export async function fetchUpdate() {
  await checkForUpdate();
  const installing = registration?.installing;
  if (!installing) return applyUpdate();
  installing.addEventListener("statechange", () => {
    if (installing.state === "installed" || installing.state === "redundant") applyUpdate();
  });
}

async function checkForUpdate() {
  try {
    await registration?.update();
  } catch {
    // No network, or the installation failed: this page goes on.
  }
}

/* Requested once. Browsers decide by their own rules; most never ask the person. */
async function requestPersistence() {
  const storage = navigator.storage;
  if (!storage?.persist) return;
  let granted = await storage.persisted();
  if (!granted && !(await state.store.fact("keeping-asked"))) {
    await state.store.setFact("keeping-asked", true);
    granted = await storage.persist();
    state.persistenceRefused = !granted;
  }
  state.persistent = granted;
  changed();
}
