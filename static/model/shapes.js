/** One shape of outline made into another, as large and in the same place. Pure. */

import { outlineCentre, outlineCorners } from "./document.js";
import { micro } from "./edit.js";

/** @typedef {import("../types.js").Outline} Outline */

/** @param {Outline} outline @param {Outline["shape"]} shape @returns {Outline} */
export function reshaped(outline, shape) {
  if (outline.shape === shape) return outline;
  const [x_mm, y_mm] = outlineCentre(outline).map(micro);
  const turn = outline.shape === "rectangle" || outline.shape === "slot" ? outline.turn_deg : undefined;
  const turned = turn ? { turn_deg: turn } : {};
  const [width, depth] = sizeOf(outline);
  switch (shape) {
    case "circle":
      return { shape, x_mm, y_mm, diameter_mm: Math.max(width, depth) };
    case "slot":
      return width >= depth
        ? { shape, x_mm, y_mm, length_mm: width, width_mm: depth, ...turned }
        : { shape, x_mm, y_mm, length_mm: depth, width_mm: width, turn_deg: (turn ?? 0) + 90 };
    case "rectangle":
      return { shape, x_mm, y_mm, width_mm: width, depth_mm: depth, ...turned };
    default:
      return { shape: "polygon", vertices: corners(outline) };
  }
}

/** The bulge of a quarter circle: the tangent of a quarter of its angle (DXF reference). */
const QUARTER = Math.tan(Math.PI / 8);

/** The corners of a polygon with the same edge, arcs as arcs. @param {Exclude<Outline, {shape: "polygon"}>|Outline} outline */
function corners(outline) {
  const round = outline.shape === "circle" || (outline.shape === "slot" && outline.length_mm <= outline.width_mm);
  // Where the straight edges of a slot end, in a rectangle shorter by its width.
  const base = outline.shape === "slot" && !round ? { ...outline, length_mm: outline.length_mm - outline.width_mm } : outline;
  const at = outlineCorners(
    round && outline.shape === "slot" ? { ...outline, shape: "circle", diameter_mm: outline.width_mm } : base,
  );
  const radius = outline.shape === "rectangle" ? (outline.corner_radius_mm ?? 0) : 0;
  const bulge = (/** @type {number} */ i) => (round ? QUARTER : outline.shape === "slot" && i % 2 ? 1 : 0);
  return at.map(([x, y], i) => ({
    x_mm: micro(x),
    y_mm: micro(y),
    ...(bulge(i) ? { bulge: bulge(i) } : {}),
    ...(radius ? { corner_radius_mm: radius } : {}),
  }));
}

/** Along and across, in the outline's own axes, mm. @param {Outline} outline @returns {[number, number]} */
function sizeOf(outline) {
  if (outline.shape === "circle") return [outline.diameter_mm, outline.diameter_mm];
  if (outline.shape === "slot") return [outline.length_mm, outline.width_mm];
  if (outline.shape === "rectangle") return [outline.width_mm, outline.depth_mm];
  const xs = outline.vertices.map((v) => v.x_mm);
  const ys = outline.vertices.map((v) => v.y_mm);
  // A polygon may be a line: a shape needs some width.
  const span = (/** @type {number[]} */ of) => Math.max(1, micro(Math.max(...of) - Math.min(...of)));
  return [span(xs), span(ys)];
}
