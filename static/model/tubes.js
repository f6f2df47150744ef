/**
 * The courses of tubes: corners in space, of a tube between devices or of one that drops to a port. Pure functions.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Kind} Kind
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../format_types.js").TubePoint} TubePoint
 * @typedef {[number, number, number]} Place  x, y and z, mm
 */

import { nearestOn, distance } from "../geometry/path.js";
import { find } from "./document.js";
import { change, micro, put } from "./edit.js";

/** Where an item keeps the corners of its tube; null for one that has none. @param {Item} item @param {Kind} kind @returns {string[]|null} */
const homeOf = (item, kind) => (kind === "tube" ? ["points"] : kind === "port" && item.serves ? ["tube", "points"] : null);

/** The corners of the tube that an item is or carries; null for an item without one. @param {PlateDocument} document @param {string} id @returns {TubePoint[]|null} */
export function tubePoints(document, id) {
  const found = find(document, id);
  if (!found || !homeOf(found.item, found.kind)) return null;
  const points = found.kind === "tube" ? found.item.points : found.item.tube?.points;
  return /** @type {TubePoint[]} */ (points ?? []);
}

/** @param {PlateDocument} document @param {string} id @param {(points: TubePoint[]) => TubePoint[]} reshape */
export const withTubePoints = (document, id, reshape) =>
  change(document, id, (item, kind) => {
    const home = homeOf(item, kind);
    return home ? put(item, home, reshape(tubePoints(document, id) ?? [])) : item;
  });

/** A corner moved in plan; its height stays. @param {PlateDocument} document @param {string} id @param {number} index @param {Point} to */
export const moveTubePoint = (document, id, index, [x, y]) =>
  withTubePoints(document, id, (points) =>
    points.map((point, i) => (i === index ? { ...point, x_mm: micro(x), y_mm: micro(y) } : point)),
  );

/** @param {PlateDocument} document @param {string} id @param {number} index */
export const removeTubePoint = (document, id, index) =>
  withTubePoints(document, id, (points) => points.toSpliced(index, 1));

/** A corner put in before the one at `index`. @param {PlateDocument} document @param {string} id @param {number} index @param {Place} place */
export const insertTubePoint = (document, id, index, [x, y, z]) =>
  withTubePoints(document, id, (points) => points.toSpliced(index, 0, { x_mm: micro(x), y_mm: micro(y), z_mm: micro(z) }));

/** Every corner in space, the ends of the tube itself with them. @param {PlateDocument} document @param {string} id @param {[Place, Place]} ends as the drawing has them @returns {Place[]} */
export const tubeCorners = (document, id, [start, end]) => [
  start,
  ...(tubePoints(document, id) ?? []).map(({ x_mm, y_mm, z_mm }) => /** @type {Place} */ ([x_mm, y_mm, z_mm])),
  end,
];

/** Where on its course a new corner would go in, at the height that the tube has there. @param {PlateDocument} document @param {string} id @param {[Place, Place]} ends @param {Point} near @returns {{index: number, place: Place, away: number}|null} */
export function placeOnTube(document, id, ends, near) {
  const corners = tubeCorners(document, id, ends);
  let best = null;
  for (let i = 0; i + 1 < corners.length; i += 1) {
    const [a, b] = [corners[i], corners[i + 1]];
    const [from, to] = [flat(a), flat(b)];
    const point = nearestOn(near, from, to);
    const away = distance(near, point);
    if (best && away >= best.away) continue;
    const share = distance(from, to) > 1e-9 ? distance(from, point) / distance(from, to) : 0.5;
    best = { index: i, place: /** @type {Place} */ ([...point, a[2] + share * (b[2] - a[2])]), away };
  }
  return best;
}

/** @param {Place} place @returns {Point} */
const flat = ([x, y]) => [x, y];
