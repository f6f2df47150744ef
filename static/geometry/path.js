/**
 * Centrelines with rounded corners, worked out in the page so that a dragged channel follows in the same frame. The
 * same construction as the program's own: where two roundings do not fit between their corners, both shrink.
 *
 * @typedef {import("../types.js").Point} Point
 */

/** @param {Point} a @param {Point} b */
export const distance = (a, b) => Math.hypot(b[0] - a[0], b[1] - a[1]);

/** Points nearer than this are the same point, mm: the program's own figure (`SAME_MM` in `sketcher/geometry/path.py`). */
const SAME = 1e-7;

/** @typedef {{corner: Point, from: Point, to: Point, radius: number, turn: number}} Bend */

/** The angle by which a line turns at a corner, radians, left positive; 0 at its ends. @param {Point[]} corners @param {number} i */
export function turnAt(corners, i) {
  const [a, b, c] = [corners[i - 1], corners[i], corners[i + 1]];
  if (!a || !c) return 0;
  const [ux, uy, vx, vy] = [b[0] - a[0], b[1] - a[1], c[0] - b[0], c[1] - b[1]];
  return Math.atan2(ux * vy - uy * vx, ux * vx + uy * vy);
}

/**
 * Corners with those on the same place taken together, with the larger of their radii; `at` says where each went.
 * @param {Point[]} corners @param {number[]} radii
 */
function merged(corners, radii) {
  /** @type {Point[]} */
  const places = [];
  /** @type {number[]} */
  const wishes = [];
  const at = corners.map((corner, i) => {
    const last = places.length - 1;
    if (last >= 0 && distance(corner, places[last]) <= SAME) wishes[last] = Math.max(wishes[last], radii[i]);
    else {
      places.push(corner);
      wishes.push(radii[i]);
    }
    return places.length - 1;
  });
  return { places, wishes, at };
}

/**
 * @param {Point[]} corners mm @param {number[]} radii one for each corner; those of the ends are not used
 * @returns {Bend[]} one entry for each corner; corners on the same place share theirs
 */
export function rounded(corners, radii) {
  const { places, wishes, at } = merged(corners, radii);
  const bends = bendsOf(places, wishes);
  return at.map((i) => bends[i]);
}

/**
 * A closed outline with each of its corners rounded, in the same way. Corners on the same place are one.
 * @param {Point[]} corners mm @param {number[]} radii one for each corner
 */
export function roundedClosed(corners, radii) {
  const { places, wishes } = merged(corners, radii);
  if (places.length > 1 && distance(places[0], places[places.length - 1]) <= SAME) {
    places.pop();
    wishes.pop();
  }
  return bendsOf(places, wishes, true);
}

/** @param {Point[]} corners no two in a row on the same place @param {number[]} radii @param {boolean} [closed] @returns {Bend[]} */
function bendsOf(corners, radii, closed = false) {
  const n = corners.length;
  const at = (/** @type {number} */ i) => corners[(i + n) % n];
  const turns = corners.map((_, i) => (closed ? turnAt([at(i - 1), at(i), at(i + 1)], 1) : turnAt(corners, i)));
  const tangents = turns.map((turn, i) => {
    const size = Math.abs(turn);
    return size > 1e-9 && size < Math.PI - 1e-9 ? radii[i] * Math.tan(size / 2) : 0;
  });
  const shrink = corners.map(() => 1);
  for (let i = 0; i + (closed ? 0 : 1) < n; i += 1) {
    const j = (i + 1) % n;
    const edge = distance(corners[i], corners[j]);
    const need = tangents[i] + tangents[j];
    if (need > edge) {
      shrink[i] = Math.min(shrink[i], edge / need);
      shrink[j] = Math.min(shrink[j], edge / need);
    }
  }
  return corners.map((corner, i) => {
    const tangent = tangents[i] * shrink[i];
    return {
      corner,
      from: tangent ? towards(corner, at(i - 1), tangent) : corner,
      to: tangent ? towards(corner, at(i + 1), tangent) : corner,
      radius: tangents[i] ? radii[i] * shrink[i] : 0,
      turn: turns[i],
    };
  });
}

/** @param {Point} start @param {Point} end @param {number} reach @returns {Point} */
function towards(start, end, reach) {
  const share = reach / distance(start, end);
  return [start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])];
}

/** SVG path data in the plan's axes (y to the rear). @param {Point[]} corners @param {number[]} radii */
export function pathData(corners, radii) {
  if (corners.length < 2) return "";
  const { places, wishes } = merged(corners, radii);
  const n = (/** @type {number} */ v) => String(Math.round(v * 1e4) / 1e4);
  return bendsOf(places, wishes)
    .map(({ from, to, radius, turn }, i) => {
      const arc = radius > 1e-6 ? `A${n(radius)} ${n(radius)} 0 0 ${turn > 0 ? 1 : 0} ${n(to[0])} ${n(to[1])}` : "";
      return `${i ? "L" : "M"}${n(from[0])} ${n(from[1])}${arc}`;
    })
    .join("");
}

/** The nearest point of a segment. @param {Point} p @param {Point} a @param {Point} b @returns {Point} */
export function nearestOn(p, a, b) {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const size = dx * dx + dy * dy;
  if (!size) return a;
  const t = Math.max(0, Math.min(1, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / size));
  return [a[0] + t * dx, a[1] + t * dy];
}
