/**
 * What is under the pointer, worked out from the document so that thin and small things are easy to hit. Pure.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Point} Point
 */

import { KINDS, cornersOf, itemsOf, outlineCorners, valueOf } from "../model/document.js";
import { distance, nearestOn } from "./path.js";

/** Which layer of the drawing a kind of item is in. */
/** @type {Readonly<Record<string, string>>} */
export const LAYER_OF = Object.freeze({
  port: "ports",
  branch: "channels",
  channel: "channels",
  cutout: "cutouts",
  pocket: "pockets",
  hole: "holes",
  "keep-out": "keep-outs",
  obstacle: "floor",
  opening: "floor",
  board: "hardware",
  device: "hardware",
});

/** What lies right under the pointer comes before what is only near; then the smaller and the more often dragged. */
const ORDER = ["hole", "port", "branch", "channel", "cutout", "pocket", "keep-out", "obstacle", "opening"];

/**
 * Ids of the items at a point, nearest to hand first.
 * @param {PlateDocument} document @param {Point} point mm @param {number} reach mm around small things
 * @param {Set<string>} [hidden] layers that cannot be seen @param {Map<string, Point>} [roots]
 * @returns {string[]}
 */
export function itemsAt(document, point, reach, hidden = new Set(), roots) {
  /** @type {{id: string, rank: number, away: number}[]} */
  const found = [];
  for (const { kind } of KINDS) {
    const rank = ORDER.indexOf(kind);
    if (rank < 0 || hidden.has(LAYER_OF[kind])) continue;
    for (const item of itemsOf(document, kind)) {
      const away = distanceTo(document, kind, item, point, roots);
      if (away <= reach) found.push({ id: item.id, rank, away });
    }
  }
  return found
    .sort((a, b) => Number(a.away > 0) - Number(b.away > 0) || a.rank - b.rank || a.away - b.away)
    .map((hit) => hit.id);
}

/** How far a point is from an item, mm; 0 inside. @param {PlateDocument} document @param {string} kind @param {any} item @param {Point} point @param {Map<string, Point>} [roots] */
export function distanceTo(document, kind, item, point, roots) {
  const from = (/** @type {number} */ radius) => Math.max(0, distance(point, [item.x_mm, item.y_mm]) - radius);
  switch (kind) {
    case "port":
      return from((valueOf(kind, item, "fitting_diameter_mm") ?? 20) / 2);
    case "branch":
      return from(6);
    case "hole":
      return from((item.diameter_mm ?? 4.5) / 2);
    case "channel": {
      const corners = cornersOf(document, item, roots);
      let least = Infinity;
      for (let i = 0; i + 1 < corners.length; i += 1)
        least = Math.min(least, distance(point, nearestOn(point, corners[i], corners[i + 1])));
      return Math.max(0, least - item.width_mm / 2);
    }
    default:
      return item.outline ? outlineDistance(item.outline, point) : Infinity;
  }
}

/** @param {any} outline @param {Point} point */
function outlineDistance(outline, point) {
  if (outline.shape === "circle")
    return Math.max(0, distance(point, [outline.x_mm, outline.y_mm]) - outline.diameter_mm / 2);
  const corners = outlineCorners(outline);
  if (contains(corners, point)) return 0;
  let least = Infinity;
  corners.forEach((corner, i) => {
    least = Math.min(least, distance(point, nearestOn(point, corner, corners[(i + 1) % corners.length])));
  });
  return least;
}

/** @param {Point[]} corners @param {Point} point */
export function contains(corners, [x, y]) {
  let inside = false;
  corners.forEach(([ax, ay], i) => {
    const [bx, by] = corners[(i + 1) % corners.length];
    if (ay > y !== by > y && x < ax + ((y - ay) * (bx - ax)) / (by - ay)) inside = !inside;
  });
  return inside;
}

/** Items whose middle lies in a box. @param {PlateDocument} document @param {Point} a @param {Point} b @param {(id: string) => Point|null} centre @param {Set<string>} hidden */
export function itemsWithin(document, a, b, centre, hidden) {
  const [left, right] = [Math.min(a[0], b[0]), Math.max(a[0], b[0])];
  const [front, rear] = [Math.min(a[1], b[1]), Math.max(a[1], b[1])];
  return KINDS.filter(({ kind }) => kind in LAYER_OF && !hidden.has(LAYER_OF[kind]))
    .flatMap(({ kind }) => itemsOf(document, kind))
    .map((item) => item.id)
    .filter((id) => {
      const at = centre(id);
      return at && at[0] >= left && at[0] <= right && at[1] >= front && at[1] <= rear;
    });
}
