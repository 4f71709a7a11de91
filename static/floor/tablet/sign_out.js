/* On every page of somebody signed in. What this tablet keeps of a class goes when somebody
   else has signed in, and at sign-out, with or without a network. Lines that wait to be sent
   stay: there are no names in them. */

import { openBox } from "../store/line_store.js";
import { wipePacks } from "../store/packs.js";

const PATIENCE = 10_000;

const form = document.getElementById("sign-out");
const opened = openBox();

opened.then(wipePacks);
form.addEventListener("submit", leave);

async function leave(event) {
  event.preventDefault();
  // An older page in another tab may hold the stores; leaving does not wait for it.
  await Promise.race([wipeAll(), new Promise((done) => setTimeout(done, PATIENCE))]);
  const answer = await post();
  // A redirect, which is not followed here, is what signing out is answered with.
  if (answer?.type === "opaqueredirect") location.replace(form.dataset.after);
  else if (answer) form.submit();
  else sayNotYet();
}

async function wipeAll() {
  document.cookie = "whose=; path=/; max-age=0; samesite=lax";
  const box = await opened;
  await box.wipePacks(() => false);
  if (!self.caches) return;
  for (const name of await caches.keys()) await caches.delete(name);
}

/* The answer, or null if none came. */
async function post() {
  try {
    return await fetch(form.action, {
      method: "POST",
      body: new FormData(form),
      credentials: "same-origin",
      redirect: "manual",
      signal: AbortSignal.timeout(PATIENCE),
    });
  } catch {
    return null;
  }
}

/* Nothing of anybody stays on the screen either. */
function sayNotYet() {
  const note = document.createElement("p");
  note.className = "notice notice-wait";
  note.role = "alert";
  note.textContent = form.dataset.offline;
  document.querySelector("main").replaceChildren(note);
  document.title = form.dataset.title;
}
