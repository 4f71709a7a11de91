/* How sure the record is that a child is clean often enough: the same numbers as the server's
   (readiness/engine/clean_rate.py), for a page that has no network. Pure arithmetic.

   What is remembered of earlier days is two sums, [clean, not clean], each turn with its weight
   as read today. A day of the child's own fades them and adds its turns, which hang together
   (design effect 1 + (n - 1) rho: Kish, Survey Sampling, 1965). */

// Sureness is compared after rounding, so that the tablet and the server agree.
const MILLION = 1e6;
const SMALLEST = 1e-300;
const CLOSE = 1e-15;
const MOST_STEPS = 1000;

/* The sums with today's turns. memory: {days, correlation}; evidence counts half after so many
   later days of the child's own. */
export function addDay([clean, missed], turns, cleanTurns, memory) {
  const fade = 2 ** (-1 / memory.days);
  const weight = 1 / (1 + (turns - 1) * memory.correlation);
  return [clean * fade + cleanTurns * weight, missed * fade + (turns - cleanTurns) * weight];
}

/* The chance that the true clean rate is at least "rate", rounded to six decimals: a Beta
   posterior that started from knowing nothing. 1 - I_r(a, b) = I_{1-r}(b, a), DLMF 8.17.4. */
export function sureness([clean, missed], rate) {
  return Math.round(incompleteBeta(1 + missed, 1 + clean, 1 - rate) * MILLION) / MILLION;
}

/* The regularised incomplete beta function I_x(a, b), for a and b of at least 1: the continued
   fraction of DLMF 8.17.22, which converges fast for x < (a + 1) / (a + b + 2); beyond that by
   the symmetry of DLMF 8.17.4. */
export function incompleteBeta(a, b, x) {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  if (x > (a + 1) / (a + b + 2)) return 1 - incompleteBeta(b, a, 1 - x);
  const front = a * Math.log(x) + b * Math.log1p(-x) - logBeta(a, b);
  return Math.exp(front) / (a * continuedFraction(a, b, x));
}

/* 1 + d1/(1 + d2/(1 + ...)), by Lentz's method (Applied Optics 15, 1976; with Thompson and
   Barnett's guard against zeros, Journal of Computational Physics 64, 1986). */
function continuedFraction(a, b, x) {
  let value = 1;
  let c = 1;
  let d = 0;
  for (let step = 1; step < MOST_STEPS; step += 1) {
    const term = coefficient(step, a, b, x);
    d = 1 / awayFromZero(1 + term * d);
    c = awayFromZero(1 + term / c);
    value *= c * d;
    if (Math.abs(c * d - 1) < CLOSE) break;
  }
  return value;
}

/* DLMF 8.17.23. */
function coefficient(step, a, b, x) {
  const m = Math.floor(step / 2);
  if (step % 2) return (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
  return (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
}

function awayFromZero(value) {
  return Math.abs(value) < SMALLEST ? SMALLEST : value;
}

/* DLMF 5.12.1. */
function logBeta(a, b) {
  return logGamma(a) + logGamma(b) - logGamma(a + b);
}

/* ln Γ(z) for z > 0: Stirling's series, DLMF 5.11.1 (under 1e-15 off from z = 15 on), after
   Γ(z + 1) = z Γ(z), DLMF 5.5.1. */
export function logGamma(z) {
  let product = 1;
  while (z < 15) {
    product *= z;
    z += 1;
  }
  const square = z * z;
  const series = (1 / 12 - (1 / 360 - (1 / 1260 - (1 / 1680 - 1 / (1188 * square)) / square) / square) / square) / z;
  return (z - 0.5) * Math.log(z) - z + 0.5 * Math.log(2 * Math.PI) + series - Math.log(product);
}
