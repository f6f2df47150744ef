/**
 * Outlines as the program itself reads them: arcs by their bulge, corners rounded, so that a shape that is dragged is
 * drawn in the same frame. The server's drawing takes over as soon as it is there.
 *
 * @typedef {import("../types.js").Outline} Outline
 * @typedef {import("../types.js").Point} Point
 * @typedef {[number, number, number]} Row  x, y and the bulge of the edge to the next: tan of a quarter of its angle, counter-clockwise positive
 */

import { outlineCorners } from "../model/document.js";
import { distance, nearestOn, rounded, roundedClosed } from "./path.js";

/** Corners and arcs of an outline once all its roundings are made, closed. @param {Outline} outline @returns {Row[]} */
export function rowsOf(outline) {
  switch (outline.shape) {
    case "circle": {
      const { x_mm: x, y_mm: y, diameter_mm: d } = outline;
      return [
        [x + d / 2, y, 1],
        [x - d / 2, y, 1],
      ];
    }
    case "slot":
      return slotRows(outline);
    case "rectangle": {
      const radius = outline.corner_radius_mm ?? 0;
      return bendRows(
        roundedClosed(
          outlineCorners(outline),
          [0, 1, 2, 3].map(() => radius),
        ),
      );
    }
    default:
      return polygonRows(outline.vertices);
  }
}

/** @param {Extract<Outline, {shape: "slot"}>} outline @returns {Row[]} */
function slotRows(outline) {
  const turn = ((outline.turn_deg ?? 0) * Math.PI) / 180;
  const [r, half] = [outline.width_mm / 2, (outline.length_mm - outline.width_mm) / 2];
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  /** @param {number} u @param {number} v @param {number} bulge @returns {Row} */
  const at = (u, v, bulge) => [outline.x_mm + c * u - s * v, outline.y_mm + s * u + c * v, bulge];
  if (half <= 0)
    return [
      [outline.x_mm + r, outline.y_mm, 1],
      [outline.x_mm - r, outline.y_mm, 1],
    ];
  return [at(-half, -r, 0), at(half, -r, 1), at(half, r, 0), at(-half, r, 1)];
}

/** @param {import("./path.js").Bend[]} bends @returns {Row[]} */
const bendRows = (bends) =>
  bends.flatMap(({ from, to, radius, turn }) =>
    radius > 0
      ? /** @type {Row[]} */ ([
          [...from, Math.tan(turn / 4)],
          [...to, 0],
        ])
      : /** @type {Row[]} */ ([[...from, 0]]),
  );

/** @param {Extract<Outline, {shape: "polygon"}>["vertices"]} vertices @returns {Row[]} */
function polygonRows(vertices) {
  const places = vertices.map((v) => /** @type {Point} */ ([v.x_mm, v.y_mm]));
  if (vertices.every((v) => !v.bulge))
    return bendRows(
      roundedClosed(
        places,
        vertices.map((v) => v.corner_radius_mm ?? 0),
      ),
    );
  const n = vertices.length;
  return vertices.flatMap((vertex, i) => {
    const [before, after] = [(i + n - 1) % n, (i + 1) % n];
    if (!vertex.corner_radius_mm || vertex.bulge || vertices[before].bulge)
      return /** @type {Row[]} */ ([[...places[i], vertex.bulge ?? 0]]);
    // Beside arcs a rounding has half of each neighbouring edge, as the program has it.
    const ends = [before, after].map((j) => middle(places[j], places[i]));
    return bendRows([rounded([ends[0], places[i], ends[1]], [0, vertex.corner_radius_mm, 0])[1]]);
  });
}

/** @param {Point} a @param {Point} b @returns {Point} */
const middle = (a, b) => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];

/** SVG path data of an outline in the plan's axes (y to the rear). @param {Outline} outline */
export function outlineData(outline) {
  const rows = rowsOf(outline);
  const n = (/** @type {number} */ v) => String(Math.round(v * 1e4) / 1e4);
  const steps = rows.map(([x, y, bulge], i) => {
    const [ex, ey] = rows[(i + 1) % rows.length];
    if (!bulge) return `L${n(ex)} ${n(ey)}`;
    const radius = (Math.hypot(ex - x, ey - y) * (1 + bulge * bulge)) / (4 * Math.abs(bulge));
    return `A${n(radius)} ${n(radius)} 0 ${Math.abs(bulge) > 1 ? 1 : 0} ${bulge > 0 ? 1 : 0} ${n(ex)} ${n(ey)}`;
  });
  return `M${n(rows[0][0])} ${n(rows[0][1])}${steps.join("")}Z`;
}

/** The place on an arc, or on a straight edge, a share of the way along it. @param {Point} a @param {Point} b @param {number} bulge @param {number} share @returns {Point} */
export function along(a, b, bulge, share) {
  if (!bulge) return [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])];
  const lift = (1 - bulge * bulge) / (4 * bulge);
  const [cx, cy] = [(a[0] + b[0]) / 2 - lift * (b[1] - a[1]), (a[1] + b[1]) / 2 + lift * (b[0] - a[0])];
  const angle = 4 * Math.atan(bulge) * share;
  const [dx, dy] = [a[0] - cx, a[1] - cy];
  return [cx + dx * Math.cos(angle) - dy * Math.sin(angle), cy + dx * Math.sin(angle) + dy * Math.cos(angle)];
}

/** Steps that an arc is taken in where only nearness is asked. */
const STEPS = 16;

/** An outline as points, arcs in short steps: for what is near the pointer, no figure is made of it. @param {Outline} outline @returns {Point[]} */
export function outlinePoints(outline) {
  const rows = rowsOf(outline);
  return rows.flatMap(([x, y, bulge], i) => {
    const [ex, ey] = rows[(i + 1) % rows.length];
    const count = bulge ? STEPS : 1;
    return Array.from({ length: count }, (_, k) => along([x, y], [ex, ey], bulge, k / count));
  });
}

/** The box around an outline, its arcs' outermost places with it: left, front, right, rear. @param {Outline} outline @returns {import("../types.js").Box} */
export function outlineBox(outline) {
  if (outline.shape === "circle") {
    const { x_mm: x, y_mm: y, diameter_mm: d } = outline;
    return [x - d / 2, y - d / 2, x + d / 2, y + d / 2];
  }
  const rows = rowsOf(outline);
  const points = rows.flatMap(([x, y, bulge], i) => {
    const [ex, ey] = rows[(i + 1) % rows.length];
    return [/** @type {Point} */ ([x, y]), ...outermost([x, y], [ex, ey], bulge)];
  });
  const [xs, ys] = [points.map((p) => p[0]), points.map((p) => p[1])];
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}

/** Where an arc runs level or upright. @param {Point} a @param {Point} b @param {number} bulge @returns {Point[]} */
function outermost(a, b, bulge) {
  if (!bulge) return [];
  const lift = (1 - bulge * bulge) / (4 * bulge);
  const [cx, cy] = [(a[0] + b[0]) / 2 - lift * (b[1] - a[1]), (a[1] + b[1]) / 2 + lift * (b[0] - a[0])];
  const [from, sweep] = [Math.atan2(a[1] - cy, a[0] - cx), 4 * Math.atan(bulge)];
  const turned = (/** @type {number} */ angle) => (((angle % (2 * Math.PI)) + 2 * Math.PI) % (2 * Math.PI));
  return [0, 1, 2, 3]
    .map((quarter) => turned(Math.sign(sweep) * ((quarter * Math.PI) / 2 - from)) / Math.abs(sweep))
    .filter((share) => share < 1)
    .map((share) => along(a, b, bulge, share));
}

/**
 * The edges that a hand can pull: of a rectangle and a slot their four sides, of a polygon all. A circle has none.
 * @param {Outline} outline @returns {{from: Point, to: Point, bulge: number}[]}
 */
export function edgesOf(outline) {
  if (outline.shape === "circle") return [];
  const corners = outlineCorners(outline);
  const bulges = outline.shape === "polygon" ? outline.vertices.map((v) => v.bulge ?? 0) : corners.map(() => 0);
  return corners.map((from, i) => ({ from, to: corners[(i + 1) % corners.length], bulge: bulges[i] }));
}

/** Whether a place is on an outline, within reach (mm). @param {Outline} outline @param {Point} point @param {number} reach */
export function nearOutline(outline, point, reach) {
  const points = outlinePoints(outline);
  return points.some((a, i) => distance(point, nearestOn(point, a, points[(i + 1) % points.length])) <= reach);
}

/** The edge nearest to a point, and how far away it is; null when there is none within reach. @param {Outline} outline @param {Point} point @param {number} reach mm @returns {{index: number, away: number}|null} */
export function edgeAt(outline, point, reach) {
  /** @type {{index: number, away: number}|null} */
  let best = null;
  edgesOf(outline).forEach(({ from, to, bulge }, index) => {
    const count = bulge ? STEPS : 1;
    for (let k = 0; k < count; k += 1) {
      const [a, b] = [along(from, to, bulge, k / count), along(from, to, bulge, (k + 1) / count)];
      const away = distance(point, nearestOn(point, a, b));
      if (away <= (best ? best.away - 1e-9 : reach)) best = { index, away };
    }
  });
  return best;
}
