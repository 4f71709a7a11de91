/* The page's shell: the service worker that keeps it, the newer page that waits, and whether
   the browser will keep what this page stores. */

import { changed, shellAddress, state } from "../state.js";

// A page may stay open for weeks: look for a newer one this often, in milliseconds.
const LOOK = 30 * 60_000;

let registration = null;
// Another tab has let the newer page in: this one goes on with its own scripts until it is
// loaded again.
let renewed = false;

export async function prepareShell() {
  askForKeeping();
  // Over plain http there are no service workers, and in some private windows neither.
  if (!navigator.serviceWorker) return;
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    renewed = true;
    changed();
  });
  try {
    const options = { updateViaCache: "none" };
    registration = await navigator.serviceWorker.register(shellAddress("sw.js"), options);
  } catch {
    return;
  }
  registration.addEventListener("updatefound", watchComing);
  watchComing();
  setInterval(lookForNewer, LOOK);
}

function watchComing() {
  registration.installing?.addEventListener("statechange", changed);
  changed();
}

/* Works without the network from now on, the class apart. */
export function isKept() {
  return Boolean(registration?.active);
}

export function cannotBeKept() {
  return !navigator.serviceWorker;
}

export function newerWaits() {
  return renewed || Boolean(registration?.waiting && registration.active);
}

/* Let the newer page in and load it, once. */
export async function takeNewer() {
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

/* The server speaks a newer form than this page: fetch the newer page, then let it in. */
export async function fetchNewer() {
  await lookForNewer();
  const coming = registration?.installing;
  if (!coming) return takeNewer();
  coming.addEventListener("statechange", () => {
    if (coming.state === "installed" || coming.state === "redundant") takeNewer();
  });
}

async function lookForNewer() {
  try {
    await registration?.update();
  } catch {
    // No network, or it could not be installed whole: this page goes on.
  }
}

/* Asked once. Browsers answer by their own rules; most never ask the person. */
async function askForKeeping() {
  const storage = navigator.storage;
  if (!storage?.persist) return;
  let granted = await storage.persisted();
  if (!granted && !(await state.box.fact("keeping-asked"))) {
    await state.box.setFact("keeping-asked", true);
    granted = await storage.persist();
    state.keepingNews = !granted;
  }
  state.keeping = granted;
  changed();
}
