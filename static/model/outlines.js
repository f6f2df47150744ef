/** Outlines changed by hand: of items, of the plate and of the floor. Pure. */

import { renumbered } from "./dimensions.js";
import { isWhole, outlineCorners, outlineOf } from "./document.js";
import { change, micro, outlineMoved, put } from "./edit.js";
import { cornerMoved, edgeMoved } from "./polygons.js";

/**
 * @typedef {import("../types.js").Outline} Outline
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Point} Point
 */

/** Nothing is made smaller than this by hand, mm. */
const SMALLEST = 0.5;

/** An outline of the document changed by a function; of the plate and the floor, too. @param {PlateDocument} document @param {string} id @param {(outline: Outline) => Outline} reshape @returns {PlateDocument} */
export function withOutline(document, id, reshape) {
  const before = outlineOf(document, id);
  if (!before) return document;
  const after = reshape(before);
  const next = isWhole(document, id)
    ? put(document, [id, "outline"], after)
    : change(document, id, (item) => ({ ...item, outline: after }));
  // Dimension lines name edges and corners by their numbers.
  return renumbered(next, id, before, after);
}

/** An outline without what it has by default anyway, as a document is written. @param {Outline} outline @returns {Outline} */
export function tidied(outline) {
  if (outline.shape !== "polygon") {
    const kept = Object.entries(outline).filter(([key, value]) => value || !["turn_deg", "corner_radius_mm"].includes(key));
    return /** @type {Outline} */ (Object.fromEntries(kept));
  }
  return {
    ...outline,
    vertices: outline.vertices.map(({ x_mm, y_mm, corner_radius_mm, bulge }) => ({
      x_mm,
      y_mm,
      ...(corner_radius_mm ? { corner_radius_mm } : {}),
      ...(bulge ? { bulge } : {}),
    })),
  };
}

/** @param {number} x @param {number} y @param {number} deg @returns {Point} */
const turned = (x, y, deg) => {
  const angle = (deg * Math.PI) / 180;
  return [x * Math.cos(angle) - y * Math.sin(angle), x * Math.sin(angle) + y * Math.cos(angle)];
};

/** A corner pulled to a place: of a rectangle the opposite corner stays, of a polygon all others. @param {Outline} outline @param {number} i @param {Point} to @returns {Outline} */
export function cornerPulled(outline, i, to) {
  if (outline.shape === "polygon") return cornerMoved(outline, i, to);
  if (outline.shape !== "rectangle") return resized(outline, to);
  const opposite = outlineCorners(outline)[(i + 2) % 4];
  const [u, v] = turned(to[0] - opposite[0], to[1] - opposite[1], -(outline.turn_deg ?? 0));
  // A corner that is pulled past its opposite one stays on its own side.
  const [su, sv] = [i === 1 || i === 2 ? 1 : -1, i >= 2 ? 1 : -1];
  const [width, depth] = [Math.max(SMALLEST, u * su), Math.max(SMALLEST, v * sv)];
  const [x, y] = turned((su * width) / 2, (sv * depth) / 2, outline.turn_deg ?? 0);
  return sized(outline, width, depth, [opposite[0] + x, opposite[1] + y]);
}

/** A side, or an edge, pulled until it runs through a place; the opposite side stays where it is. @param {Outline} outline @param {number} side 0 front, 1 right, 2 rear, 3 left, before it is turned; of a polygon the edge's number @param {Point} through @returns {Outline} */
export function sidePulled(outline, side, through) {
  if (outline.shape === "polygon") return edgeMoved(outline, side, through);
  if (outline.shape === "circle") return resized(outline, through);
  const turn = outline.turn_deg ?? 0;
  const slot = outline.shape === "slot";
  const [width, depth] = slot ? [outline.length_mm, outline.width_mm] : [outline.width_mm, outline.depth_mm];
  const [u, v] = turned(through[0] - outline.x_mm, through[1] - outline.y_mm, -turn);
  const across = side % 2 === 1;
  const sign = side === 1 || side === 2 ? 1 : -1;
  const size = Math.max(slot && across ? depth : SMALLEST, (across ? width : depth) / 2 + sign * (across ? u : v));
  const by = (sign * (size - (across ? width : depth))) / 2;
  const [x, y] = turned(across ? by : 0, across ? 0 : by, turn);
  const centre = /** @type {Point} */ ([outline.x_mm + x, outline.y_mm + y]);
  return across ? sized(outline, size, depth, centre) : sized(outline, width, size, centre);
}

/** @param {Extract<Outline, {shape: "rectangle"|"slot"}>} outline @param {number} width @param {number} depth @param {Point} centre @returns {Outline} */
function sized(outline, width, depth, centre) {
  const place = { x_mm: micro(centre[0]), y_mm: micro(centre[1]) };
  if (outline.shape === "slot")
    return { ...outline, ...place, width_mm: micro(depth), length_mm: micro(Math.max(width, depth)) };
  const radius = Math.min(outline.corner_radius_mm ?? 0, Math.min(width, depth) / 2);
  return {
    ...outline,
    ...place,
    width_mm: micro(width),
    depth_mm: micro(depth),
    ...(outline.corner_radius_mm ? { corner_radius_mm: micro(radius) } : {}),
  };
}

/** A corner or an edge moved by so much, as the arrow keys do. @param {Outline} outline @param {{index: number, edge?: boolean}} spot @param {number} dx mm @param {number} dy mm @returns {Outline} */
export function partMoved(outline, { index, edge = false }, dx, dy) {
  const corners = outlineCorners(outline);
  const [a, b] = [corners[index], corners[(index + 1) % corners.length]];
  if (!a) return outline;
  if (outline.shape === "circle") return outlineMoved(outline, dx, dy);
  if (!edge) return cornerPulled(outline, index, [a[0] + dx, a[1] + dy]);
  return sidePulled(outline, index, [(a[0] + b[0]) / 2 + dx, (a[1] + b[1]) / 2 + dy]);
}

/** An outline turned about a place, counter-clockwise. @param {Outline} outline @param {Point} about @param {number} deg @returns {Outline} */
export function outlineTurned(outline, about, deg) {
  /** @template {{x_mm: number, y_mm: number}} P @param {P} place @returns {P} */
  const moved = (place) => {
    const [x, y] = turned(place.x_mm - about[0], place.y_mm - about[1], deg);
    return { ...place, x_mm: micro(about[0] + x), y_mm: micro(about[1] + y) };
  };
  if (outline.shape === "polygon") return { ...outline, vertices: outline.vertices.map(moved) };
  if (outline.shape === "circle") return moved(outline);
  return { ...moved(outline), turn_deg: turnedBy(outline.turn_deg, deg) };
}

/** A direction turned, 0 to 360. @param {number|undefined} from @param {number} by */
export const turnedBy = (from, by) => micro(((((from ?? 0) + by) % 360) + 360) % 360);

/** An outline whose corner has been pulled to a place; its middle stays. A polygon is pulled corner by corner. @param {Outline} outline @param {Point} to @returns {Outline} */
export function resized(outline, to) {
  if (outline.shape === "polygon") return outline;
  const [dx, dy] = [to[0] - outline.x_mm, to[1] - outline.y_mm];
  const size = (/** @type {number} */ value) => Math.max(0.5, micro(Math.round(2 * value * 10) / 10));
  if (outline.shape === "circle") return { ...outline, diameter_mm: size(Math.hypot(dx, dy)) };
  const turn = (-(outline.turn_deg ?? 0) * Math.PI) / 180;
  const width = size(Math.abs(dx * Math.cos(turn) - dy * Math.sin(turn)));
  const depth = size(Math.abs(dx * Math.sin(turn) + dy * Math.cos(turn)));
  if (outline.shape === "slot") return { ...outline, width_mm: depth, length_mm: Math.max(depth, width) };
  const radius = Math.min(outline.corner_radius_mm ?? 0, Math.min(width, depth) / 2);
  return {
    ...outline,
    width_mm: width,
    depth_mm: depth,
    ...(outline.corner_radius_mm ? { corner_radius_mm: radius } : {}),
  };
}
