/** Boards and devices as they are drawn: only the server knows their shapes on the plan. */

import { distance, nearestOn } from "../geometry/path.js";

/** @typedef {import("../types.js").Point} Point */

/** A line with arcs is taken in so many pieces. */
const PIECES = 96;
/** A drawing's lines are worked out once. @type {WeakMap<Element, Point[]>} */
const known = new WeakMap();

/** The corners of a path as the server draws it, with the ends of its arcs, mm. @param {string} data @returns {Point[]} */
export const pathCorners = (data) =>
  [...data.matchAll(/[MLA]([^MLAZ]*)/g)].map(([, numbers]) => {
    const [x, y] = numbers.trim().split(/[\s,]+/).slice(-2).map(Number);
    return [x, y];
  });

/** The line of a body in straight pieces, closed, mm. @param {Element|null} shape @returns {Point[]} */
export function lineOfBody(shape) {
  if (!shape) return [];
  const before = known.get(shape);
  if (before) return before;
  const data = shape.getAttribute("d") ?? "";
  const line = /[^MLZ\d\s.,e+-]/.test(data) && shape instanceof SVGGeometryElement ? inPieces(shape) : pathCorners(data);
  known.set(shape, line);
  return line;
}

/** @param {SVGGeometryElement} shape @returns {Point[]} */
function inPieces(shape) {
  const long = shape.getTotalLength();
  return Array.from({ length: PIECES }, (_, i) => {
    const { x, y } = shape.getPointAtLength((long * i) / PIECES);
    return [x, y];
  });
}

/** Lines of bodies cross much else: they are taken hold of from less far than small things are. */
const LESS = 0.6;

/** Boards and devices whose line is near a place, the nearest first. @param {SVGElement} world @param {Point} point mm @param {number} reach mm within which small things are taken hold of @returns {string[]} */
export function bodiesAt(world, point, reach) {
  return [...world.querySelectorAll(".layer:not(.hidden) > .item > .hardware")]
    .map((shape) => {
      const line = lineOfBody(shape);
      const away = Math.min(...line.map((a, i) => distance(point, nearestOn(point, a, line[(i + 1) % line.length]))));
      return { id: /** @type {SVGElement} */ (shape.parentElement ?? shape).dataset.id ?? "", away };
    })
    .filter(({ away }) => away <= reach * LESS)
    .sort((a, b) => a.away - b.away)
    .map(({ id }) => id);
}
