/* The sentences of this page, in the reader's language. The server writes them into the page
   (readiness/floor/words.py); a word with plurals is a list of forms for the sample numbers. */

const data = JSON.parse(document.getElementById("floor-words").textContent);
const language = document.documentElement.lang || "en";
const plurals = new Intl.PluralRules(language);
// Which plural each of a word's forms is for.
const forms = data.samples.map((sample) => plurals.select(sample));
const clock = new Intl.DateTimeFormat(language, {
  hour: "2-digit",
  minute: "2-digit",
  hourCycle: "h23",
});
const decimal = new Intl.NumberFormat(language, { maximumFractionDigits: 1, useGrouping: false });
const oneDecimal = new Intl.NumberFormat(language, {
  minimumFractionDigits: 1,
  maximumFractionDigits: 1,
  useGrouping: false,
});
const weekday = new Intl.DateTimeFormat(language, { weekday: "long", timeZone: "UTC" });
// The site writes the day before the month.
const dayAndMonth = new Intl.DateTimeFormat(language === "en" ? "en-GB" : language, {
  day: "numeric",
  month: "short",
  timeZone: "UTC",
});

/* Those of a part of the page that was fetched on demand. */
export function addWords({ words, codes }) {
  Object.assign(data.words, words);
  Object.assign(data.codes, codes);
}

export function say(key, values = {}) {
  return fill(data.words[key], values);
}

/* A sentence about n things; n itself is the value "n". */
export function sayCount(key, n, values = {}) {
  const at = forms.indexOf(plurals.select(n));
  return fill(data.words[key][Math.max(at, 0)], { n, ...values });
}

/* A code that came in the pack or an answer, in words; the code itself if it is a new one. */
export function sayCode(group, code) {
  return data.codes[group][code] ?? code;
}

/* A number as it is written in this language, with one decimal at most. */
export function formatNumber(value) {
  return decimal.format(value);
}

/* The point or comma of this language. */
export function decimalSign() {
  return decimal.formatToParts(0.5).find(({ type }) => type === "decimal").value;
}

/* The same with one decimal always: seconds of a clock. */
export function formatTenths(value) {
  return oneDecimal.format(value);
}

/* A share as whole hundredths, rounded down; the last decimals are the noise of dividing. */
export function percentOf(share) {
  return Math.floor(share * 100 + 1e-6);
}

export function clockTime(milliseconds) {
  return clock.format(milliseconds);
}

export function weekdayOf(isoDate) {
  return weekday.format(new Date(`${isoDate}T00:00:00Z`));
}

/* The day and the month, as in "21 Nov". */
export function dayOf(isoDate) {
  return dayAndMonth.format(new Date(`${isoDate}T00:00:00Z`));
}

/* When a class meets, and which one it is. */
export function titleOf({ date, starts_at: time, group }) {
  return say("title", { weekday: weekdayOf(date), date: dayOf(date), time, group });
}

/* A list joined as the language joins lists. */
export function joinList(parts) {
  return new Intl.ListFormat(language, { type: "unit", style: "short" }).format(parts);
}

export function fill(sentence, values) {
  return sentence
    .replace(/%\((\w+)\)s/g, (whole, name) => (name in values ? String(values[name]) : whole))
    .replaceAll("%%", "%");
}
