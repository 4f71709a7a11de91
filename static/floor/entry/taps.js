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

/* For the whole page: the first tap may close a sheet or move a list; the second one must not hit
   what is under the finger then. */
export function guardSecondTaps() {
  let last = null;
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
