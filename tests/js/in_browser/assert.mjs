/* "node:assert/strict" as far as the scripts' tests use it. */

export function ok(value, message = "not true") {
  if (!value) throw new Error(message);
}

export function equal(found, expected, message = "") {
  ok(Object.is(found, expected), `${message} ${shown(found)}, not ${shown(expected)}`);
}

export function notEqual(found, other, message = "") {
  ok(!Object.is(found, other), `${message} ${shown(found)} twice`);
}

export function match(text, pattern) {
  ok(pattern.test(text), `${shown(text)} does not match ${pattern}`);
}

export function deepEqual(found, expected, message = "") {
  ok(areEqual(found, expected), `${message} ${shown(found)}, not ${shown(expected)}`);
}

function areEqual(one, other) {
  if (Object.is(one, other)) return true;
  if (typeof one !== "object" || typeof other !== "object" || !one || !other) return false;
  if (Object.getPrototypeOf(one) !== Object.getPrototypeOf(other)) return false;
  if (one instanceof Map || one instanceof Set) return areEqual([...one], [...other]);
  const keys = Object.keys(one);
  if (keys.length !== Object.keys(other).length) return false;
  return keys.every((key) => Object.hasOwn(other, key) && areEqual(one[key], other[key]));
}

function shown(value) {
  return JSON.stringify(value) ?? String(value);
}

export default { ok, equal, notEqual, match, deepEqual };
