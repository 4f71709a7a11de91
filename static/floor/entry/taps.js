/* One gesture, one tap: what a finger does twice within a moment was meant once. Event times,
   not the clock at handling: a busy page must not make two gestures of one. */

const MOMENT = 350;
const SAME_PLACE = 40;

/* For a button that logs something: the second tap of a gesture is nothing. */
export function oneGesture(act) {
  let last = -Infinity;
  return (event) => {
    const same = event.timeStamp - last < MOMENT;
    last = event.timeStamp;
    if (!same) act();
  };
}

/* For the whole page: the first tap may close a sheet or move a list, and then the second one
   must not hit what has come to lie under the finger. */
export function guardWhatLiesUnder() {
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
