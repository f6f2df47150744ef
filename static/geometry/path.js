/**
 * Centrelines with rounded corners, worked out in the page so that a dragged channel follows in the same frame. The
 * same construction as the program's own: where two roundings do not fit between their corners, both shrink.
 *
 * @typedef {import("../types.js").Point} Point
 */

/** @param {Point} a @param {Point} b */
export const distance = (a, b) => Math.hypot(b[0] - a[0], b[1] - a[1]);

/**
 * @param {Point[]} corners mm @param {number[]} radii one for each corner; those of the ends are not used
 * @returns {{corner: Point, from: Point, to: Point, radius: number, turn: number, wanted: number}[]} one entry for each corner
 */
export function rounded(corners, radii) {
  const turns = corners.map(() => 0);
  const tangents = corners.map(() => 0);
  for (let i = 1; i + 1 < corners.length; i += 1) {
    const [a, b, c] = [corners[i - 1], corners[i], corners[i + 1]];
    const [ux, uy, vx, vy] = [b[0] - a[0], b[1] - a[1], c[0] - b[0], c[1] - b[1]];
    turns[i] = Math.atan2(ux * vy - uy * vx, ux * vx + uy * vy);
    if (Math.abs(turns[i]) > 1e-9 && Math.abs(turns[i]) < Math.PI - 1e-9)
      tangents[i] = radii[i] * Math.tan(Math.abs(turns[i]) / 2);
  }
  const shrink = corners.map(() => 1);
  for (let i = 0; i + 1 < corners.length; i += 1) {
    const edge = distance(corners[i], corners[i + 1]);
    const need = tangents[i] + tangents[i + 1];
    if (need > edge) {
      shrink[i] = Math.min(shrink[i], edge / need);
      shrink[i + 1] = Math.min(shrink[i + 1], edge / need);
    }
  }
  return corners.map((corner, i) => {
    const tangent = tangents[i] * shrink[i];
    return {
      corner,
      from: tangent ? towards(corner, corners[i - 1], tangent) : corner,
      to: tangent ? towards(corner, corners[i + 1], tangent) : corner,
      radius: tangents[i] ? radii[i] * shrink[i] : 0,
      turn: turns[i],
      wanted: radii[i],
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
  const n = (/** @type {number} */ v) => String(Math.round(v * 1e4) / 1e4);
  let data = "";
  rounded(corners, radii).forEach((c, i) => {
    data += `${i ? "L" : "M"}${n(c.from[0])} ${n(c.from[1])}`;
    if (c.radius > 1e-6) data += `A${n(c.radius)} ${n(c.radius)} 0 0 ${c.turn > 0 ? 1 : 0} ${n(c.to[0])} ${n(c.to[1])}`;
  });
  return data;
}

/** Length of the rounded line, mm. @param {Point[]} corners @param {number[]} radii */
export function pathLength(corners, radii) {
  const bends = rounded(corners, radii);
  let total = 0;
  bends.forEach((bend, i) => {
    if (i) total += distance(bends[i - 1].to, bend.from);
    total += Math.abs(bend.turn) * bend.radius;
  });
  return total;
}

/** The nearest point of a segment. @param {Point} p @param {Point} a @param {Point} b @returns {Point} */
export function nearestOn(p, a, b) {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const size = dx * dx + dy * dy;
  if (!size) return a;
  const t = Math.max(0, Math.min(1, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / size));
  return [a[0] + t * dx, a[1] + t * dy];
}
