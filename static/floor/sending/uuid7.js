/* Ids for lines, made at the tap. UUID version 7, RFC 9562 section 5.7: 48 bits of Unix time
   in milliseconds, the version, 12 bits, the variant, 62 random bits. The 12 bits count up
   within one millisecond from a random start below 2048 (section 6.2, method 1), so that ids
   made on one page sort in the order of the taps. When the tablet's clock is set back, the time of
   the last id stays until it is reached again. */

const LAST_COUNT = 0xfff;

let lastTime = -1;
let counter = 0;

/* Ids made from now on sort after this one, of a page before this one. */
export function sortAfter(id) {
  lastTime = Math.max(lastTime, Number.parseInt(id.replace("-", "").slice(0, 12), 16));
  counter = LAST_COUNT;
}

export function uuid7(now = Date.now()) {
  // Works over plain http too, where crypto.randomUUID does not exist.
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  if (now <= lastTime && counter < LAST_COUNT) {
    counter += 1;
  } else {
    lastTime = Math.max(now, lastTime + 1);
    counter = ((bytes[6] & 0x07) << 8) | bytes[7];
  }
  let time = lastTime;
  for (let at = 5; at >= 0; at -= 1) {
    bytes[at] = time % 256;
    time = Math.floor(time / 256);
  }
  bytes[6] = 0x70 | ((counter >> 8) & 0x0f);
  bytes[7] = counter & 0xff;
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}
