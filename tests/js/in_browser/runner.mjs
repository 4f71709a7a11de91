/* "node:test" as far as the scripts' tests use it, in a worker of a browser. One test after
   another, once the file has been read whole. */

const tests = [];

// Handed over before a test puts clocks of its own in their place.
const turn = new MessageChannel();
const due = [];
turn.port1.onmessage = () => due.shift()();
globalThis.setImmediate = (work) => {
  due.push(work);
  turn.port2.postMessage(null);
};

export function test(name, run) {
  tests.push([name, run]);
}

/* [name, what went wrong or null] for each test. */
export async function runAll() {
  const results = [];
  for (const [name, run] of tests) {
    try {
      await run();
      results.push([name, null]);
    } catch (error) {
      results.push([name, `${error?.message}\n${error?.stack}`]);
    }
  }
  return results;
}
