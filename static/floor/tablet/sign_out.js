/* On every page of somebody signed in. Saved packs and the key for signing are deleted when somebody
   else has signed in, and at sign-out, with or without a network. Lines that wait to be sent stay:
   there are no names of children in them. */

import { openStore } from "../store/line_store.js";
import { deleteOldPacks } from "../store/packs.js";
import { endNoted, forgetEnded, noteEnded } from "./ended.js";
import { linesHere, showLinesHere } from "./lines_here.js";

const TIMEOUT = 10_000;
// Without a network: look for it so often, in milliseconds.
const AGAIN = 10_000;

const form = document.getElementById("sign-out");
const opened = openStore();

opened.then(begin);
form.addEventListener("submit", signOut);

async function begin(store) {
  await deleteOldPacks(store);
  await showLinesHere(store);
  await endNoted(store, form.dataset.after);
}

async function signOut(event) {
  event.preventDefault();
  // An older page in another tab may block the stores; signing out does not wait for it.
  await Promise.race([deleteStored(), new Promise((done) => setTimeout(done, TIMEOUT))]);
  const answer = await postForm();
  if (!answer) return showOffline();
  await forgetEnded(await opened);
  // Signing out is answered with a redirect, which is not followed here.
  if (answer.type === "opaqueredirect") location.replace(form.dataset.after);
  else form.submit();
}

async function deleteStored() {
  document.cookie = "whose=; path=/; max-age=0; samesite=lax";
  const store = await opened;
  await noteEnded(store, form.dataset.tag);
  await store.deletePacksExcept(() => false);
  await store.deleteKeysExcept(null);
  if (!self.caches) return;
  for (const name of await caches.keys()) await caches.delete(name);
}

/* The answer, or null if none came. */
async function postForm() {
  try {
    return await fetch(form.action, {
      method: "POST",
      body: new FormData(form),
      credentials: "same-origin",
      redirect: "manual",
      signal: AbortSignal.timeout(TIMEOUT),
    });
  } catch {
    return null;
  }
}

/* Clears the screen too: nothing about any child stays on it. */
async function showOffline() {
  const store = await opened;
  const note = document.createElement("p");
  note.className = "notice notice-wait";
  note.role = "alert";
  note.textContent = `${form.dataset.offline} ${await linesHere(store, form.dataset)}`;
  document.querySelector("main").replaceChildren(note);
  document.title = form.dataset.title;
  form.hidden = true;
  const again = async () => {
    if (await endNoted(store, form.dataset.after)) location.replace(form.dataset.after);
  };
  addEventListener("online", again);
  setInterval(again, AGAIN);
}
