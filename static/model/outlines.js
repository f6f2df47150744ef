/** Outlines changed by hand. Pure. */

import { micro } from "./edit.js";

/**
 * @typedef {import("../types.js").Outline} Outline
 * @typedef {import("../types.js").Point} Point
 */

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
