/* Two taps within a moment are one gesture. Measured by the times of the events, not of their
   handling: a busy page must not make two gestures of one. */

const MOMENT = 350;
const SAME_PLACE = 40;

/* For a button that logs something: ignores the second tap of a gesture. */
export function oncePerGesture(act) {
  let last = -Infinity;
  return (event) => {
    const same = event.timeStamp - last < MOMENT;
    last = event.timeStamp;
    if (!same) act();
  };
}

/* Held for so long (ms), a press is a question and no tap. */
const LONG = 600;

export function onLongPress(element, act) {
  let timer = null;
  let isDown = false;
  let wasLong = false;
  const fire = () => {
    wasLong = isDown;
    if (isDown) act();
  };
  element.addEventListener("pointerdown", () => {
    isDown = true;
    wasLong = false;
    // On a busy page the finger may be up and the event on its way: it comes before the next frame.
    timer = setTimeout(() => requestAnimationFrame(fire), LONG);
  });
  for (const end of ["pointerup", "pointercancel", "pointerleave"]) {
    element.addEventListener(end, () => {
      isDown = false;
      clearTimeout(timer);
    });
  }
  element.addEventListener("contextmenu", (event) => event.preventDefault());
  element.addEventListener("click", (event) => wasLong && event.stopImmediatePropagation(), true);
}

let touchedAt = -Infinity;

/* How long no finger has come down, in ms. */
export function restingFor() {
  return performance.now() - touchedAt;
}

/* For the whole page: the first tap may close a sheet or move a list; the second one must not hit
   what is under the finger then. */
export function guardSecondTaps() {
  let last = null;
  document.addEventListener("pointerdown", () => (touchedAt = performance.now()), true);
  document.addEventListener(
    "click",
    (event) => {
      const now = {
        time: event.timeStamp,
        x: event.clientX,
        y: event.clientY,
        target: event.target.closest("button, a"),
      };
      const second = last !== null && isSecond(now, last);
      last = now;
      if (second) {
        event.preventDefault();
        event.stopImmediatePropagation();
      }
    },
    true,
  );
  // A key held down is one tap.
  document.addEventListener("keydown", (event) => {
    if (event.repeat && event.key === "Enter") event.preventDefault();
  });
}

function isSecond(now, last) {
  const near = Math.hypot(now.x - last.x, now.y - last.y) < SAME_PLACE;
  return near && now.time - last.time < MOMENT && now.target !== last.target;
}
