/* The screen stays on while a clock runs, where the browser can see to it. */

let lock = null;

export async function stayAwake(wanted) {
  if (!wanted) {
    const held = lock;
    lock = null;
    (await held)?.release().catch(() => {});
  } else if (lock === null && navigator.wakeLock) {
    lock = navigator.wakeLock.request("screen").catch(() => null);
    const held = await lock;
    held?.addEventListener("release", () => (lock = null));
  }
}
