/** The few words that the tests of the page's pure modules need. A test that asserts nothing is an error. */

/** @type {{name: string, run: () => void|Promise<void>}[]} */
const tests = [];
let asserted = 0;

/** @param {string} name @param {() => void|Promise<void>} run */
export const test = (name, run) => tests.push({ name, run });

/** @param {any} value */
const shown = (value) => JSON.stringify(value, (_, v) => (v instanceof Map || v instanceof Set ? [...v] : v));

/** @param {any} actual @param {any} expected @param {string} [words] */
export function equal(actual, expected, words = "") {
  asserted += 1;
  if (shown(actual) !== shown(expected)) throw new Error(`${words} got ${shown(actual)}, not ${shown(expected)}`);
}

/** @param {number} actual @param {number} expected @param {number} [within] */
export function close(actual, expected, within = 1e-9) {
  asserted += 1;
  if (!(Math.abs(actual - expected) <= within)) throw new Error(`got ${actual}, not ${expected} within ${within}`);
}

/** @param {any} value @param {string} [words] */
export function ok(value, words = "it does not hold") {
  asserted += 1;
  if (!value) throw new Error(words);
}

/** @param {() => any} run @param {RegExp} words */
export function throws(run, words) {
  asserted += 1;
  try {
    run();
  } catch (error) {
    if (words.test(error.message)) return;
    throw new Error(`it said “${error.message}”`);
  }
  throw new Error("it did not throw");
}

/** A stream of numbers from 0 to 1 that is the same every time. @param {number} seed */
export function random(seed) {
  let state = seed;
  return () => {
    state = (state * 1664525 + 1013904223) % 4294967296;
    return state / 4294967296;
  };
}

/** Freezes all of a value, so that a function which changes its argument is found out. @template T @param {T} value @returns {T} */
export function frozen(value) {
  if (value && typeof value === "object") {
    Object.values(value).forEach(frozen);
    Object.freeze(value);
  }
  return value;
}

/** Runs every test; one entry for each. */
export async function results() {
  const found = [];
  for (const { name, run } of tests) {
    asserted = 0;
    try {
      await run();
      found.push({ name, fault: asserted ? "" : "it asserts nothing" });
    } catch (error) {
      found.push({ name, fault: String(error.message ?? error) });
    }
  }
  return found;
}
