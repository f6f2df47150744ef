/**
 * Reading numbers as people type them: with units, sums and fractions (`12.5+20.32`, `3/4 in`, `2*(10+1.5) mm`), and
 * relative moves ("30 mm to the front"). A unit behind a product or a quotient belongs to all of it: `3/4 in` is
 * three quarters of an inch.
 */

/** Units by the kind of quantity, and how many of the kind's own unit each is. */
export const UNITS = Object.freeze({
  length: {
    mm: 1,
    cm: 10,
    m: 1000,
    in: 25.4,
    inch: 25.4,
    inches: 25.4,
    '"': 25.4,
    "″": 25.4,
    thou: 0.0254,
    mil: 0.0254,
  },
  angle: { deg: 1, "°": 1, rad: 180 / Math.PI },
  // A US gallon is 231 cubic inches, so 3.785411784 l exactly.
  flow: {
    "l/min": 1, lpm: 1, "l/h": 1 / 60, lph: 1 / 60, gpm: 3.785411784, gph: 3.785411784 / 60, "ml/s": 0.06,
    "m³/h": 1000 / 60, "m3/h": 1000 / 60,
  },
  // mH₂O: the conventional metre of water, 9.80665 kPa; psi: the pound-force on a square inch.
  pressure: { kpa: 1, bar: 100, mbar: 0.1, hpa: 0.1, mh2o: 9.80665, "mh₂o": 9.80665, psi: 6.894757293168, pa: 0.001 },
  temperature: { "°c": 1, c: 1, k: 1 },
  heat: { w: 1, kw: 1000 },
  percent: { "%": 1 },
  volume: { ml: 1, l: 1000 },
  conductance: { "w/k": 1, "w/°c": 1 },
  force: { n: 1, kn: 1000, kgf: 9.80665 },
  roughness: { µm: 1, um: 1, mm: 1000 },
  number: {},
});

/** The unit each kind is kept in. */
export const OWN_UNIT = Object.freeze({
  length: "mm",
  angle: "°",
  flow: "l/min",
  pressure: "kPa",
  temperature: "°C",
  heat: "W",
  percent: "%",
  volume: "ml",
  conductance: "W/K",
  force: "N",
  roughness: "µm",
  number: "",
});

/** @typedef {keyof typeof UNITS} Kind */

export class QuantityError extends Error {}

/** What is wrong with what was typed, in words, when an action does not take it; empty when it does. Other errors go on. @param {() => void} act */
export function faultOf(act) {
  try {
    act();
    return "";
  } catch (error) {
    if (!(error instanceof QuantityError)) throw error;
    return error.message;
  }
}

/** @param {number} value */
const tidy = (value) => Number(value.toPrecision(13));

/**
 * @param {string} text @param {Kind} [kind] @param {string} [unit] the unit of a number that has none
 * @returns {number} in the kind's own unit
 * @throws {QuantityError} with a sentence that says what is wrong
 */
export function parseQuantity(text, kind = "length", unit = undefined) {
  const units = /** @type {Record<string, number>} */ (UNITS[kind]);
  const tokens = tokenise(text, units);
  if (!tokens.length) throw new QuantityError("Type a number.");
  const parser = new Parser(tokens, units, unit ? (units[unit.toLowerCase()] ?? 1) : 1);
  const found = parser.sum();
  if (parser.next !== undefined) throw new QuantityError(`“${parser.next}” does not belong there.`);
  if (!Number.isFinite(found.value)) throw new QuantityError("That number is too large.");
  return tidy(found.value);
}

/** A number with how many times a unit is in it. @typedef {{value: number, power: number}} Counted */

/** Descends through the tokens by the rules of arithmetic: a sum of products of factors. */
class Parser {
  #at = 0;
  #tokens;
  #units;
  #plain;

  /** @param {(number|string)[]} tokens @param {Record<string, number>} units @param {number} plain what a number without a unit counts */
  constructor(tokens, units, plain) {
    this.#tokens = tokens;
    this.#units = units;
    this.#plain = plain;
  }

  /** The token that comes next, or undefined at the end. */
  get next() {
    return this.#tokens[this.#at];
  }

  /** @returns {Counted} of one unit */
  sum() {
    let left = this.#inUnit(this.#product());
    for (let sign = this.#sign(); sign; sign = this.#sign())
      left = { value: left.value + sign * this.#inUnit(this.#product()).value, power: 1 };
    return left;
  }

  /** A sum inside brackets without any unit stays a plain number, so that `2*(3+4)` means 14 of the field's unit. */
  #bare() {
    let left = this.#product();
    for (let sign = this.#sign(); sign; sign = this.#sign())
      left = { value: left.value + sign * this.#product().value, power: left.power };
    return left;
  }

  /** Takes a plus or a minus, if one comes: 1 or -1, or else 0. */
  #sign() {
    if (this.next !== "+" && this.next !== "-") return 0;
    return this.#tokens[this.#at++] === "+" ? 1 : -1;
  }

  /** A plain number in a sum counts in the field's own unit. @param {Counted} q @returns {Counted} */
  #inUnit(q) {
    if (q.power === 0) return { value: q.value * this.#plain, power: 1 };
    if (q.power !== 1) throw new QuantityError("That is not a single quantity: the units do not fit together.");
    return q;
  }

  /** @param {number|string|undefined} token @returns {token is string} */
  #isUnit(token) {
    return typeof token === "string" && token in this.#units;
  }

  /** @returns {Counted} */
  #product() {
    let left = this.#factor();
    for (;;) {
      const token = this.next;
      if (token === "*" || token === "/") {
        this.#at += 1;
        left = token === "*" ? times(left, this.#factor()) : over(left, this.#factor());
      } else if (this.#isUnit(token)) {
        if (left.power !== 0) throw new QuantityError(`The unit “${token}” stands where one is given already.`);
        this.#at += 1;
        left = { value: left.value * this.#units[token], power: 1 };
      } else {
        return left;
      }
    }
  }

  /** @returns {Counted} */
  #factor() {
    const token = this.#tokens[this.#at++];
    if (token === "-") {
      const q = this.#factor();
      return { value: -q.value, power: q.power };
    }
    if (token === "+") return this.#factor();
    if (token === "(") {
      const q = this.#tokens.slice(this.#at).some((t) => this.#isUnit(t)) ? this.sum() : this.#bare();
      if (this.#tokens[this.#at++] !== ")") throw new QuantityError("A bracket is not closed.");
      return q;
    }
    if (typeof token === "number") return { value: token, power: 0 };
    throw new QuantityError(token === undefined ? "The sum stops in the middle." : `“${token}” does not belong there.`);
  }
}

/** @param {Counted} a @param {Counted} b @returns {Counted} */
const times = (a, b) => ({ value: a.value * b.value, power: a.power + b.power });

/** @param {Counted} a @param {Counted} b @returns {Counted} */
function over(a, b) {
  if (b.value === 0) throw new QuantityError("Nothing can be divided by 0.");
  return { value: a.value / b.value, power: a.power - b.power };
}

/** @param {string} text @param {Record<string, number>} units @returns {(number|string)[]} */
function tokenise(text, units) {
  /** @type {(number|string)[]} */
  const tokens = [];
  // Longest first, so that "mm" is not read as "m" and a stray "m".
  const names = Object.keys(units).sort((a, b) => b.length - a.length);
  let rest = text
    .trim()
    .toLowerCase()
    .replaceAll("×", "*")
    .replaceAll("−", "-")
    .replaceAll("÷", "/")
    .replaceAll("½", "1/2")
    .replaceAll("¼", "1/4")
    .replaceAll("¾", "3/4");
  while (rest) {
    const mixed = /^(\d+)\s+(\d+)\s*\/\s*(\d+)/.exec(rest);
    const number = /^(\d+(?:[.,]\d*)?|[.,]\d+)(?:e[+-]?\d+)?/.exec(rest);
    const sign = /^[-+*/()]/.exec(rest);
    const unit = names.find((name) => rest.startsWith(name) && !/^[a-zµ]/.test(rest.slice(name.length)));
    if (mixed && Number(mixed[3]) !== 0) {
      tokens.push(Number(mixed[1]) + Number(mixed[2]) / Number(mixed[3]));
      rest = rest.slice(mixed[0].length);
    } else if (number) {
      tokens.push(Number(number[0].replace(",", ".")));
      rest = rest.slice(number[0].length);
    } else if (unit) {
      tokens.push(unit);
      rest = rest.slice(unit.length);
    } else if (sign) {
      tokens.push(sign[0]);
      rest = rest.slice(1);
    } else {
      const word = /^\S+/.exec(rest)?.[0] ?? rest;
      const own = Object.keys(units).slice(0, 5).join(", ");
      const known = own ? ` Units here: ${own}.` : " No unit belongs here.";
      throw new QuantityError(`“${word}” is neither a number nor a unit.${known}`);
    }
    rest = rest.trimStart();
  }
  return tokens;
}

/** Ways a thing can be moved, as unit steps. */
/** @type {Readonly<Record<string, number[]>>} */
const WAYS = Object.freeze({
  left: [-1, 0],
  right: [1, 0],
  front: [0, -1],
  forward: [0, -1],
  forwards: [0, -1],
  rear: [0, 1],
  back: [0, 1],
  rearward: [0, 1],
});

/**
 * A relative move in words: "30 mm to the front", "left 12.5+3", "3/4 in right, 10 rear".
 * @param {string} text @param {string} [unit]
 * @returns {{dx: number, dy: number}} mm
 */
export function parseMove(text, unit = "mm") {
  const parts = text
    .split(/[;]|,(?!\d)|\band\b/)
    .map((part) => part.trim())
    .filter(Boolean);
  if (!parts.length) throw new QuantityError("Say how far and which way: “30 mm to the front”.");
  let [dx, dy] = [0, 0];
  for (const part of parts) {
    const words = part.toLowerCase().replace(/\b(to|towards?|the|by|move)\b/g, " ");
    const way = Object.keys(WAYS).find((name) => new RegExp(`\\b${name}\\b`).test(words));
    if (!way) throw new QuantityError("Say which way: left, right, front or rear.");
    const amount = parseQuantity(words.replace(new RegExp(`\\b${way}\\b`), " "), "length", unit);
    dx += WAYS[way][0] * amount;
    dy += WAYS[way][1] * amount;
  }
  return { dx: tidy(dx), dy: tidy(dy) };
}

/**
 * A number as a field shows it: no more digits than anyone reads, none lost that were typed.
 * @param {number} value in the kind's own unit @param {"mm"|"in"} [unit] @param {number} [digits]
 */
export function format(value, unit = "mm", digits = 3) {
  const shown = unit === "in" ? value / 25.4 : value;
  // Noughts behind the point only: those of 280 stay.
  const text = shown.toFixed(unit === "in" ? digits + 1 : digits).replace(/(\.\d*?)0+$/, "$1").replace(/\.$/, "");
  return text === "-0" ? "0" : text;
}
