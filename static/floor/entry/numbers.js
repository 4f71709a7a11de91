/* A number as it is typed, read alike in every language: 7.5 and 7,5 are seven and a half
   (studio/imports/numbers.py reads alike). */

const NUMBER = /^[0-9]{1,7}([.,][0-9]{1,4})?$/;

/* The number, or null for anything but digits with at most one point or comma among them. */
export function readNumber(text) {
  const typed = text.trim();
  return NUMBER.test(typed) ? Number(typed.replace(",", ".")) : null;
}

/* Why a drill does not take it, as a key of the page's words; or null. */
export function whyNotFor(drill, number) {
  if (number === null) return "not-a-number";
  if (drill.measure !== "seconds" && !Number.isInteger(number)) return "not-whole";
  if (drill.measure === "seconds" && !Number.isInteger(Math.round(number * 1e6) / 1e5)) return "only-tenths";
  return number > drill.most ? "too-much" : null;
}
