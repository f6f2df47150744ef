/**
 * The clear gap between two items in plan. An item is a core (a point, a line or an area) made wider by a radius; the gap is
 * the distance of the cores less both radii. Exact but for the rounded bends of a channel. Pure.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Point} Point
 * @typedef {{points: Point[], closed: boolean, radius: number}} Core
 */

import { cornersOf, find, outlineCorners, valueOf } from "../model/document.js";
import { distance, nearestOn } from "./path.js";
import { contains } from "./hits.js";

/** @param {PlateDocument} document @param {string} id @param {Map<string, Point>} [roots] @returns {Core|null} */
export function coreOf(document, id, roots) {
  const found = find(document, id);
  if (!found) return null;
  const { kind, item } = found;
  /** @type {(radius: number) => Core} */
  const round = (radius) => ({ points: [[item.x_mm, item.y_mm]], closed: false, radius });
  if (kind === "port") return round(valueOf(kind, item, "fitting_diameter_mm") / 2);
  if (kind === "hole") return round((item.diameter_mm ?? 4.5) / 2);
  if (kind === "channel") return { points: cornersOf(document, item, roots), closed: false, radius: item.width_mm / 2 };
  if (!item.outline || kind === "device") return null;
  return outlineCore(item.outline);
}

/** @param {any} outline @returns {Core} */
function outlineCore(outline) {
  const { shape, x_mm: x, y_mm: y } = outline;
  if (shape === "circle") return { points: [[x, y]], closed: false, radius: outline.diameter_mm / 2 };
  const turn = ((outline.turn_deg ?? 0) * Math.PI) / 180;
  if (shape === "slot") {
    const half = (outline.length_mm - outline.width_mm) / 2;
    const [dx, dy] = [half * Math.cos(turn), half * Math.sin(turn)];
    return {
      points: [
        [x - dx, y - dy],
        [x + dx, y + dy],
      ],
      closed: false,
      radius: outline.width_mm / 2,
    };
  }
  const radius = shape === "rectangle" ? (outline.corner_radius_mm ?? 0) : 0;
  const inner = radius
    ? { ...outline, width_mm: outline.width_mm - 2 * radius, depth_mm: outline.depth_mm - 2 * radius }
    : outline;
  return { points: outlineCorners(inner), closed: true, radius };
}

/** @param {Core} core @returns {[Point, Point][]} */
function legs({ points, closed }) {
  if (points.length === 1) return [[points[0], points[0]]];
  return points.slice(0, closed ? undefined : -1).map((p, i) => [p, points[(i + 1) % points.length]]);
}

/**
 * @param {PlateDocument} document @param {string} a @param {string} b @param {Map<string, Point>} [roots]
 * @returns {number|null} mm; 0 when they touch or overlap; null when one of them has no shape of its own
 */
export function gapBetween(document, a, b, roots) {
  const [first, second] = [coreOf(document, a, roots), coreOf(document, b, roots)];
  if (!first?.points.length || !second?.points.length) return null;
  if (second.closed && contains(second.points, first.points[0])) return 0;
  if (first.closed && contains(first.points, second.points[0])) return 0;
  let least = Infinity;
  for (const [p, q] of legs(first)) {
    for (const [r, s] of legs(second)) {
      if (crosses(p, q, r, s)) return 0;
      least = Math.min(
        least,
        distance(p, nearestOn(p, r, s)),
        distance(q, nearestOn(q, r, s)),
        distance(r, nearestOn(r, p, q)),
        distance(s, nearestOn(s, p, q)),
      );
    }
  }
  return Math.max(0, least - first.radius - second.radius);
}

/** @param {Point} p @param {Point} q @param {Point} r @param {Point} s */
function crosses(p, q, r, s) {
  const side = (/** @type {Point} */ a, /** @type {Point} */ b, /** @type {Point} */ c) =>
    Math.sign((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]));
  return side(p, q, r) * side(p, q, s) < 0 && side(r, s, p) * side(r, s, q) < 0;
}
