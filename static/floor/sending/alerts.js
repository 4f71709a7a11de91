/* Asks the server every few seconds, while the page is in sight, whether something has come that
   every tablet of the class must show at once: a stop sign, pain, a pause. No answer changes
   nothing: it is asked again. */

// In milliseconds.
const EVERY = 3_000;
const TIMEOUT = 10_000;

/* since(): the address to ask at, or null. onNews(): something has come; waited for. */
export function watchAlerts(since, onNews) {
  setTimeout(async () => {
    const address = since();
    if (address !== null && document.visibilityState === "visible" && (await hasNews(address))) {
      await onNews();
    }
    watchAlerts(since, onNews);
  }, EVERY);
}

async function hasNews(address) {
  try {
    const response = await fetch(address, {
      headers: { Accept: "application/json" },
      credentials: "same-origin",
      redirect: "manual",
      cache: "no-store",
      signal: AbortSignal.timeout(TIMEOUT),
    });
    return response.status === 200;
  } catch {
    return false;
  }
}
