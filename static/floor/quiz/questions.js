/* What the line is asked. Each question has figures, what is asked, and the answer, by their words. */

const SHAPES = ["hollow", "arch", "tall", "sit", "hands-down", "landing"];
const WHERE = ["sit", "hands-down", "second-flight", "rebound", "landing"];
const HOLLOWS = ["hollow", "second-flight", "rebound"];
const OTHERS = ["arch", "tall", "landing"];

export const EACH = 6;

/* Six for one child, in any order: three names, two moments, and which two are the same. "random": a
   number from 0 to under 1. */
export function questionsFor(random) {
  const any = (from, count) => shuffled(from, random).slice(0, count);
  const names = any(SHAPES, 3).map((shape) => ({ asks: "name", figures: [shape], answer: `shape-${shape}` }));
  const moments = any([...WHERE, "hollow"], 2).map((moment) => ({
    asks: "where",
    figures: [moment],
    answer: `where-${moment}`,
  }));
  const figures = shuffled([...any(HOLLOWS, 2), ...any(OTHERS, 1)], random);
  const same = figures.flatMap((figure, at) => (HOLLOWS.includes(figure) ? [at + 1] : []));
  return shuffled([...names, ...moments, { asks: "same", figures, answer: "same", same }], random);
}

function shuffled(from, random) {
  const all = [...from];
  for (let at = all.length - 1; at > 0; at -= 1) {
    const other = Math.floor(random() * (at + 1));
    [all[at], all[other]] = [all[other], all[at]];
  }
  return all;
}
