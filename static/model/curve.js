/**
 * Curves of devices as they are drawn while they are typed, and points made from the few figures of a data sheet. Pure.
 *
 * @typedef {import("../types.js").Point} Point  here: a flow and what belongs to it
 */

/** Points in the order of their flows, those at the same flow as their mean. @param {Point[]} points @returns {Point[]} */
export function ordered(points) {
  /** @type {Map<number, number[]>} */
  const at = new Map();
  for (const [flow, value] of points) at.set(flow, [...(at.get(flow) ?? []), value]);
  return [...at]
    .sort(([a], [b]) => a - b)
    .map(([flow, values]) => [flow, values.reduce((sum, value) => sum + value, 0) / values.length]);
}

/**
 * The monotone cubic through points (Fritsch and Carlson, SIAM J. Numer. Anal. 17, 1980; slopes as the weighted harmonic
 * mean of Fritsch and Butland, 1984), as the server has it.
 * @param {Point[]} points in order, at least two @returns {(x: number) => number} between the first and the last
 */
export function monotone(points) {
  const steps = points.slice(1).map(([x, y], i) => ({ wide: x - points[i][0], slope: (y - points[i][1]) / (x - points[i][0]) }));
  const slopes = points.map((_, i) => {
    if (i === 0) return end(steps[0], steps[1]);
    if (i === points.length - 1) return end(steps[i - 1], steps[i - 2]);
    const [a, b] = [steps[i - 1], steps[i]];
    if (a.slope * b.slope <= 0) return 0;
    const [v, w] = [2 * b.wide + a.wide, b.wide + 2 * a.wide];
    return (v + w) / (v / a.slope + w / b.slope);
  });
  return (x) => {
    const i = Math.min(Math.max(points.findLastIndex(([at]) => at <= x), 0), steps.length - 1);
    const { wide, slope } = steps[i];
    const d = x - points[i][0];
    const c = (3 * slope - 2 * slopes[i] - slopes[i + 1]) / wide;
    const e = (slopes[i] + slopes[i + 1] - 2 * slope) / wide ** 2;
    return points[i][1] + d * (slopes[i] + d * (c + d * e));
  };
}

/** The slope at an end, from three points, so that the curve does not turn there. @param {{wide: number, slope: number}} one @param {{wide: number, slope: number}|undefined} two */
function end(one, two) {
  if (!two) return one.slope;
  const slope = ((2 * one.wide + two.wide) * one.slope - one.wide * two.slope) / (one.wide + two.wide);
  if (slope * one.slope <= 0) return 0;
  return one.slope * two.slope <= 0 && Math.abs(slope) > 3 * Math.abs(one.slope) ? 3 * one.slope : slope;
}

/**
 * The nearest values that never fall, by pooling neighbours that do to their mean (Ayer and others, Ann. Math. Stat. 26, 1955),
 * as the server has it. @param {number[]} values
 */
export function rising(values) {
  /** @type {[number, number][]} */
  const pools = [];
  for (const value of values) {
    pools.push([value, 1]);
    while (pools.length > 1 && pools[pools.length - 2][0] > pools[pools.length - 1][0]) {
      const [mean, count] = /** @type {[number, number]} */ (pools.pop());
      const [before, many] = pools[pools.length - 1];
      pools[pools.length - 1] = [(before * many + mean * count) / (many + count), many + count];
    }
  }
  return pools.flatMap(([mean, count]) => Array(count).fill(mean));
}

/** Whether these are a pump's two ends: its pressure at no flow, and its flow at no pressure. @param {Point[]} known in order */
const ends = (known) => known.length === 2 && known[0][0] === 0 && known[0][1] > 0 && known[1][1] === 0;

/**
 * What is strange about points, or assumed of them, in sentences. @param {Point[]} points @param {boolean} pump
 * @param {string} [unit] of the flows @returns {string[]}
 */
export function remarks(points, pump, unit = "l/min") {
  const said = [];
  const digits = (/** @type {number} */ value) => String(Number(value.toPrecision(4)));
  const flows = points.map(([flow]) => flow);
  const doubled = [...new Set(flows.filter((flow, i) => flows.indexOf(flow) !== i))];
  if (doubled.length) said.push(`Several points at ${doubled.map(digits).join(", ")} ${unit}: their mean counts.`);
  const known = ordered(points);
  const falls = known.findIndex(([, value], i) => i > 0 && known[i - 1][1] > value);
  const climbs = known.findIndex(([, value], i) => i > 0 && known[i - 1][1] < value);
  if (pump) {
    if (known.length > 1 && climbs > 0) said.push(`The pressure climbs up to ${digits(known[climbs][0])} ${unit}: a pump's falls. Up to its top it is taken flat.`);
    if (known.length === 1 && known[0][0] > 0)
      said.push("One point: a parabola is assumed, with 4/3 of its pressure at no flow and twice its flow at none.");
    if (known.length === 1 && known[0][0] === 0) said.push("One point, at no flow, does not say what the pump moves.");
    if (ends(known)) said.push("Two ends: a parabola between them is assumed.");
    return said;
  }
  if (known.some(([flow, value]) => flow === 0 && value > 0)) said.push("Nothing is lost at no flow: the point at 0 is left out.");
  if (known.some(([flow, value]) => flow > 0 && value === 0)) said.push("A point without a loss at a flow is left out.");
  if (falls > 0) said.push(`The loss falls at ${digits(known[falls][0])} ${unit}, which it never does in a passive device: neighbours are averaged.`);
  if (known.length === 1) said.push("One point: its loss is taken to grow with the square of the flow.");
  return said;
}

/**
 * The drawn line: of a pump straight on its points, of anything else in the logarithms of both, with its square law down
 * to nothing. Points that no passive device has (a loss at no flow) are left out of the line.
 * @param {Point[]} points @param {boolean} pump @param {number} [count] of places along it
 * @returns {Point[]}
 */
export function line(points, pump, count = 40) {
  const known = ordered(points).filter(([flow, value]) => pump || (flow > 0 && value > 0));
  if (!known.length) return [];
  const last = known[known.length - 1];
  if (known.length === 1) {
    const [flow, value] = known[0];
    if (pump) return flow > 0 ? parabola((4 / 3) * value, 2 * flow, count) : [];
    return spread(0, flow, count).map((q) => [q, value * (q / flow) ** 2]);
  }
  if (pump && ends(known)) return parabola(known[0][1], known[1][0], count);
  if (pump) {
    // As far as it climbs it is taken flat, as high as its top.
    const curve = monotone(known.map(([q], i) => [q, Math.max(...known.slice(i).map(([, p]) => p))]));
    return spread(known[0][0], last[0], count).map((q) => [q, curve(q)]);
  }
  const values = rising(known.map(([, p]) => p));
  const curve = monotone(known.map(([q], i) => [Math.log(q), Math.log(values[i])]));
  const [first, value] = [known[0][0], values[0]];
  const foot = /** @type {Point[]} */ (spread(0, first, 6).map((q) => [q, value * (q / first) ** 2]));
  return [...foot, .../** @type {Point[]} */ (spread(first, last[0], count).map((q) => [q, Math.exp(curve(Math.log(q)))]))];
}

/** @param {number} from @param {number} to @param {number} count */
const spread = (from, to, count) => Array.from({ length: count }, (_, i) => from + ((to - from) * i) / (count - 1));

/**
 * A pump from two figures of its data sheet: a parabola from its pressure at no flow down to its flow at no pressure.
 * That shape is an assumption; a centrifugal pump's true curve may bulge or sag by a tenth and more (common practice).
 * @param {number} head pressure at no flow @param {number} flow at no pressure @param {number} [count] of points @returns {Point[]}
 */
export const parabola = (head, flow, count = 6) => spread(0, flow, count).map((q) => [q, head * (1 - (q / flow) ** 2)]);

/** Heat given off per kelvin, W/K, from one line of a test. @param {number} heat W @param {number} coolant °C, going in @param {number} air °C @returns {number|null} none when the coolant is no warmer than the air */
export const conductance = (heat, coolant, air) => (coolant > air && heat > 0 ? heat / (coolant - air) : null);
