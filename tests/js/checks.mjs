/* Holds the tablet's arithmetic to the vectors. Used by node's test runner and in the browser,
   so it imports nothing: the modules and the vectors are handed in, and what differs comes back
   as sentences. */

const CLOSE = 1e-6;

/* sureness.json. Days fold one after another, as they did when they were lived. */
export function checkSureness({ addDay, sureness }, cases) {
  const wrong = [];
  for (const { name, days, rate, memory, sureness: expected } of cases) {
    const found = sureness(sumsOf(addDay, days, memoryOf(memory)), rate);
    if (!near(found, expected)) wrong.push(`${name}: ${found}, not ${expected}`);
  }
  return wrong;
}

/* The function itself, to 1e-9 and better, against values that are known exactly. */
export function checkBeta({ incompleteBeta, logGamma }) {
  const wrong = [];
  const expect = (name, found, expected) => {
    if (!(Math.abs(found - expected) < 1e-12)) wrong.push(`${name}: ${found}, not ${expected}`);
  };
  // DLMF 8.17.5 in its simplest cases, and the symmetry of 8.17.4.
  for (const x of [0.01, 0.2, 0.5, 0.75, 0.99]) {
    expect(`I_${x}(1, 7)`, incompleteBeta(1, 7, x), 1 - (1 - x) ** 7);
    expect(`I_${x}(7, 1)`, incompleteBeta(7, 1, x), x ** 7);
    expect(`I_${x}(2, 2)`, incompleteBeta(2, 2, x), x * x * (3 - 2 * x));
    expect(`I_${x} and 1 - x`, incompleteBeta(3.5, 9.25, x) + incompleteBeta(9.25, 3.5, 1 - x), 1);
  }
  expect("I_0.5(a, a)", incompleteBeta(123.4, 123.4, 0.5), 0.5);
  expect("I_0", incompleteBeta(2, 3, 0), 0);
  expect("I_1", incompleteBeta(2, 3, 1), 1);
  // DLMF 5.4.1 and 5.4.6.
  let factorial = 0;
  for (let n = 1; n < 25; n += 1) {
    expect(`ln Γ(${n})`, logGamma(n), factorial);
    factorial += Math.log(n);
  }
  expect("ln Γ(1/2)", logGamma(0.5), Math.log(Math.PI) / 2);
  return wrong;
}

/* gates.json. */
export function checkGates({ readClean }, { addDay }, cases) {
  const wrong = [];
  for (const { name, days, today, rule, memory: numbers, unmet_most, ...expected } of cases) {
    const memory = memoryOf(numbers);
    const rules = { memory, unmet_most };
    const gate = { ...rule, need: rule.certainty };
    const [turns, clean] = today;
    const found = readClean(gate, before(addDay, days, rule, memory), { turns, clean }, rules);
    const same =
      near(found.value, expected.sureness) &&
      found.met === expected.met &&
      Math.abs(found.progress - expected.progress) < 1e-5 &&
      (found.progress === 1) === found.met;
    if (!same) wrong.push(`${name}: ${JSON.stringify(found)}, not ${JSON.stringify(expected)}`);
  }
  return wrong;
}

/* classes.json: every gate and all support, before the first turn and after each. */
export function checkClasses(gateNow, supportNow, ladders) {
  return ladders.flatMap((ladder) => checkLadder(gateNow, supportNow, ladder));
}

function checkLadder({ readGate }, { allowedNow, isNoTurn }, { ladder, rules, children }) {
  const wrong = [];
  for (const { name, starts, gates, turns, after } of children) {
    after.forEach((expected, count) => {
      const done = turns.slice(0, count);
      const turnsAt = (drill) => done.filter((turn) => turn.drill === drill);
      const counted = (drill) => turnsAt(drill).filter((turn) => !isNoTurn(turn, rules.stops));
      const at = (drill) => ({ start: starts[drill], turns: turnsAt(drill) });
      const where = `${ladder}, ${name}, after ${count} turns`;
      for (const [code, [value, met, progress]] of Object.entries(expected.gates)) {
        const found = readGate(gates[code], rules, counted);
        const same = near(found.value ?? value, value) && found.met === met;
        if (!same || Math.abs(found.progress - progress) > 1e-5) {
          wrong.push(`${where}, ${code}: ${JSON.stringify(found)}, not ${[value, met, progress]}`);
        }
      }
      for (const [drill, surfaces] of Object.entries(expected.support)) {
        for (const [surface, told] of Object.entries(surfaces)) {
          const { support, causes, falls } = allowedNow(drill, surface, at, done, rules);
          const plain = falls.map(({ code, stages, asks }) => [code, stages, asks]);
          const found = JSON.stringify({ support, causes, falls: plain });
          if (found !== JSON.stringify(told)) {
            wrong.push(`${where}, ${drill} on ${surface}: ${found}, not ${JSON.stringify(told)}`);
          }
        }
      }
    });
  }
  return wrong;
}

/* A pack, lines, and the pack made after the server took them: what the page shows of the first
   with the lines is what the second says. */
export function checkPacks(reading, { before, lines, after }) {
  const wrong = [];
  before.children.forEach((child, at) => {
    for (const drill of before.drills) {
      const told = after.children[at].drills[drill.key];
      const where = `${child.name}, ${drill.key}`;
      const now = reading.progressNow(before, child, drill, lines);
      const gate = now && { value: now.value, need: now.need, met: now.met, share: now.progress };
      const expected = told.sure ?? told.best;
      const same =
        gate === null
          ? expected === null
          : near(gate.value, expected.value) &&
            gate.need === expected.need &&
            gate.met === expected.met &&
            (told.sure !== null ? now.turns === expected.turns : near(gate.share, expected.share));
      if (!same) wrong.push(`${where}: ${JSON.stringify(gate)}, not ${JSON.stringify(expected)}`);
      for (const { key } of before.surfaces) {
        const { support, causes } = reading.supportNow(before, child, drill, key, lines);
        const found = JSON.stringify([support, causes]);
        const allowed = JSON.stringify([told.allowed[key], told.causes[key] ?? []]);
        if (found !== allowed) wrong.push(`${where} on ${key}: ${found}, not ${allowed}`);
      }
    }
  });
  return wrong;
}

function near(found, expected) {
  return Math.abs(found - expected) <= CLOSE + 1e-12;
}

function memoryOf([days, time, correlation]) {
  return { days: days ?? Infinity, time: time ?? Infinity, correlation };
}

/* [age, turns, clean] days, oldest first, to the two sums as read today. */
function sumsOf(addDay, days, memory) {
  let sums = [0, 0];
  let last = null;
  for (const [age, turns, clean] of days) {
    sums = addDay(waited(sums, (last ?? age) - age, memory), turns, clean, memory);
    last = age;
  }
  return waited(sums, last ?? 0, memory);
}

function waited(sums, days, memory) {
  return sums.map((sum) => sum * 2 ** (-days / memory.time));
}

/* What a pack tells of earlier days; see readiness/engine/day_start.py. */
function before(addDay, days, rule, memory) {
  const recent = days.filter(([age, , clean]) => clean && age <= rule.within);
  return {
    sums: sumsOf(addDay, days, memory),
    days: recent.length,
    clean: recent.reduce((sum, [, , clean]) => sum + clean, 0),
    turns: null,
    age: recent.at(-1)?.[0] ?? null,
  };
}
