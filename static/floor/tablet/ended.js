/* A sign-out that could not reach the server. The tag of the sign-in that is over stands in a cookie,
   which comes with the first call when there is a network and makes the server end it; and in the
   store, since browsers forget cookies that scripts have set. A newer sign-in has another tag. */

const FACT = "ended";
const TIMEOUT = 10_000;
// As long as browsers keep a cookie, in seconds.
const LONGEST = 400 * 24 * 3600;

export async function noteEnded(store, tag) {
  setCookie(tag);
  await store.setFact(FACT, tag);
}

/* Before any other call of a page. True if no sign-in is left to be ended. */
export async function endNoted(store, address) {
  const tag = await store.fact(FACT);
  if (!tag) return true;
  setCookie(tag);
  try {
    const signal = AbortSignal.timeout(TIMEOUT);
    await fetch(address, { method: "HEAD", cache: "no-store", redirect: "manual", signal });
  } catch {
    return false;
  }
  await forgetEnded(store);
  return true;
}

export function forgetEnded(store) {
  return store.deleteFacts([FACT]);
}

function setCookie(tag) {
  document.cookie = `ended=${tag}; path=/; max-age=${LONGEST}; samesite=lax`;
}
