/**
 * What is under the pointer, worked out from the document so that thin and small things are easy to hit. Pure.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Kind} Kind
 */

import { CLEARANCE_MM, DEFAULTS } from "../format.js";
import { KINDS, cornersOf, itemsOf, placeOf } from "../model/document.js";
import { outlineBox, outlinePoints } from "./outline.js";
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
  tube: "tubes",
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

/** What a port, a branch or a hole is taken hold of by, mm: near enough for a hand, for no figure is made of it. @param {Kind} kind @param {Item} item */
export function roughRadius(kind, item) {
  if (kind === "port") return (item.fitting_diameter_mm ?? DEFAULTS.Port.fitting_diameter_mm) / 2;
  if (kind === "branch") return 6;
  return (item.diameter_mm ?? CLEARANCE_MM[item.screw ?? DEFAULTS.Hole.screw] ?? 6) / 2;
}

/** How far a point is from an item, mm; 0 inside. @param {PlateDocument} document @param {Kind} kind @param {Item} item @param {Point} point @param {Map<string, Point>} [roots] */
export function distanceTo(document, kind, item, point, roots) {
  switch (kind) {
    case "port":
    case "branch":
    case "hole":
      return Math.max(0, distance(point, placeOf(item)) - roughRadius(kind, item));
    case "channel": {
      const corners = cornersOf(document, item, roots);
      let least = Infinity;
      for (let i = 0; i + 1 < corners.length; i += 1)
        least = Math.min(least, distance(point, nearestOn(point, corners[i], corners[i + 1])));
      return Math.max(0, least - (item.width_mm ?? 0) / 2);
    }
    default:
      return item.outline ? outlineDistance(item.outline, point) : Infinity;
  }
}

/** @param {import("../types.js").Outline} outline @param {Point} point */
function outlineDistance(outline, point) {
  if (outline.shape === "circle")
    return Math.max(0, distance(point, [outline.x_mm, outline.y_mm]) - outline.diameter_mm / 2);
  const corners = outlinePoints(outline);
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

/** The box around what is seen of an item, mm: left, front, right, rear; null for what only the drawing knows. @param {PlateDocument} document @param {Kind} kind @param {Item} item @param {Map<string, Point>} [roots] @returns {import("../types.js").Box|null} */
export function boxOf(document, kind, item, roots) {
  if (kind === "port" || kind === "branch" || kind === "hole")
    // A port's fitting is a thin ring about what is seen as the port.
    return boxAround([placeOf(item)], roughRadius(kind, item) * (kind === "port" ? 0.72 : 1));
  if (kind === "channel") return boxAround(cornersOf(document, item, roots), (item.width_mm ?? 0) / 2);
  if (kind === "board" || kind === "device" || kind === "tube" || !item.outline) return null;
  return outlineBox(item.outline);
}

/** @param {Point[]} points @param {number} beyond @returns {import("../types.js").Box|null} */
function boxAround(points, beyond) {
  if (!points.length) return null;
  const [xs, ys] = [points.map(([x]) => x), points.map(([, y]) => y)];
  return [Math.min(...xs) - beyond, Math.min(...ys) - beyond, Math.max(...xs) + beyond, Math.max(...ys) + beyond];
}

/**
 * Items that lie wholly within a box: what sticks out is not meant.
 * @param {PlateDocument} document @param {Point} a @param {Point} b @param {Map<string, import("../types.js").Box>} drawn the boxes around boards, devices and tubes as they are drawn
 * @param {Set<string>} hidden layers @param {Map<string, Point>} [roots]
 */
export function itemsWithin(document, a, b, drawn, hidden, roots) {
  const [left, right] = [Math.min(a[0], b[0]), Math.max(a[0], b[0])];
  const [front, rear] = [Math.min(a[1], b[1]), Math.max(a[1], b[1])];
  return KINDS.filter(({ kind }) => kind in LAYER_OF && !hidden.has(LAYER_OF[kind])).flatMap(({ kind }) =>
    itemsOf(document, kind)
      .filter((one) => {
        const item = /** @type {Item} */ (one);
        const box = boxOf(document, kind, item, roots) ?? drawn.get(item.id);
        return box && box[0] >= left && box[2] <= right && box[1] >= front && box[3] <= rear;
      })
      .map(({ id }) => id),
  );
}
