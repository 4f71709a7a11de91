/* Chance that is the same in every language: readiness/engine/eyes/draws.py. */

const SEED = 2463534242;
export const DRAWS = 4000;

/* Whole numbers from 1 to 2^32 - 1: Marsaglia, "Xorshift RNGs", Journal of Statistical Software 2003;8(14). */
export function xorshift(seed = SEED) {
  let state = seed;
  return () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return state >>> 0;
  };
}

/* So many draws: of each a pair of normal numbers for every point (Box & Muller, Annals of
   Mathematical Statistics 1958;29:610), and one number from -1 to 1. */
export function draws(points, count = DRAWS) {
  const whole = xorshift();
  const next = () => whole() / 2 ** 32;
  return Array.from({ length: count }, () => {
    const taps = Array.from({ length: points }, () => {
      const reach = Math.sqrt(-2 * Math.log(next()));
      const turn = 2 * Math.PI * next();
      return [reach * Math.cos(turn), reach * Math.sin(turn)];
    });
    return { taps, turn: 2 * next() - 1 };
  });
}
