/**
 * Snapping: where a pointer comes to rest. Pure functions; places are exact, never rounded (an inch grid stays 20.32).
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").Snap} Snap
 * @typedef {{point: Point, kind: string, label: string, owner?: string}} SpotTarget
 * @typedef {{from: Point, to: Point, kind: string, label: string, owner?: string}} EdgeTarget
 * @typedef {{spots: SpotTarget[], edges: EdgeTarget[], grid: {pitch: number, x: number, y: number}|null}} Targets
 */

import { DEFAULTS } from "../format.js";
import { KINDS, centreOf, cornersOf, itemsOf, outlineCorners } from "../model/document.js";
import { distance, nearestOn } from "./path.js";

/** Free places are taken to this, mm. */
const FREE = 0.1;

/**
 * Everything in a document that can be snapped to.
 * @param {PlateDocument} document
 * @param {{point: Point, kind: string, label: string}[]} [further] holes, slots and fan holes, as the server works them out
 * @param {{grid?: boolean}} [options]
 * @returns {Targets}
 */
export function targetsOf(document, further = [], { grid = true } = {}) {
  /** @type {SpotTarget[]} */
  const spots = [...further];
  /** @type {EdgeTarget[]} */
  const edges = [];
  for (const { kind } of KINDS) {
    for (const item of itemsOf(document, kind)) {
      if (kind === "channel") {
        const corners = cornersOf(document, item);
        corners.forEach((point) =>
          spots.push({ point, kind: "corner", label: `corner of ${item.id}`, owner: item.id }),
        );
        edges.push(...legs(corners, false, item.id));
        continue;
      }
      if (kind === "group" || kind === "tube" || kind === "dimension" || item.held_by) continue;
      const centre = centreOf(document, item.id);
      // Lid screws stand everywhere around the groove: who snaps to them snaps to nothing he wanted.
      const common = kind === "hole" && item.use === "lid";
      if (centre && !common)
        spots.push({ point: centre, kind: "centre", label: `centre of ${item.id}`, owner: item.id });
      if (item.outline && kind !== "device") addOutline(spots, edges, item.outline, item.id);
    }
  }
  if (document.plate?.outline) addOutline(spots, edges, document.plate.outline, "plate");
  if (document.floor?.outline) addOutline(spots, edges, document.floor.outline, "floor");
  const set = document.grid ?? {};
  return { spots, edges, grid: grid ? { pitch: set.pitch_mm ?? DEFAULTS.Grid.pitch_mm, x: set.x_mm ?? 0, y: set.y_mm ?? 0 } : null };
}

/** @param {SpotTarget[]} spots @param {EdgeTarget[]} edges @param {import("../types.js").Outline} outline @param {string} owner */
function addOutline(spots, edges, outline, owner) {
  const corners = outlineCorners(outline);
  if (outline.shape === "circle") {
    corners.forEach((point) => spots.push({ point, kind: "edge", label: `edge of ${owner}`, owner }));
    return;
  }
  corners.forEach((point, i) => {
    const next = corners[(i + 1) % corners.length];
    spots.push({ point, kind: "corner", label: `corner of ${owner}`, owner });
    spots.push({
      point: [(point[0] + next[0]) / 2, (point[1] + next[1]) / 2],
      kind: "midpoint",
      label: `midpoint on ${owner}`,
      owner,
    });
  });
  edges.push(...legs(corners, true, owner));
}

/** @param {Point[]} corners @param {boolean} closed @param {string} owner @returns {EdgeTarget[]} */
function legs(corners, closed, owner) {
  return corners.slice(0, closed ? undefined : -1).map((from, i) => ({
    from,
    to: corners[(i + 1) % corners.length],
    kind: "edge",
    label: `edge of ${owner}`,
    owner,
  }));
}

/**
 * Where a point comes to rest: a spot when one is near; else on lines with centres or at 45° from where it came, two
 * together when both are near; else an edge; else the square grid; else where it is.
 * @param {Point} point mm @param {Targets} targets
 * @param {{reach: number, from?: Point|null, without?: Set<string>}} options reach: mm; from: for 45°; without: owners not to snap to
 * @returns {Snap}
 */
export function snap(point, targets, { reach, from = null, without = new Set() }) {
  const spots = targets.spots.filter((spot) => !spot.owner || !without.has(spot.owner));
  const spot = nearest(point, spots, reach);
  if (spot) return { point: spot.point, kind: spot.kind, label: spot.label, guides: [] };
  const aligned = alignedWith(point, spots, from, reach * 0.6, targets.grid);
  if (aligned) return aligned;
  /** @type {Snap|null} */
  let best = null;
  for (const edge of targets.edges) {
    if (edge.owner && without.has(edge.owner)) continue;
    const on = nearestOn(point, edge.from, edge.to);
    if (distance(point, on) < (best ? distance(point, best.point) : reach))
      best = { point: on, kind: edge.kind, label: edge.label, guides: [[edge.from, edge.to]] };
  }
  if (best) return best;
  if (targets.grid) {
    const { pitch } = targets.grid;
    const on = /** @type {Point} */ ([0, 1].map((axis) => rest(point[axis], axis, targets.grid)));
    if (Math.abs(on[0] - point[0]) <= reach && Math.abs(on[1] - point[1]) <= reach)
      return { point: on, kind: "grid", label: `grid ${tidy(pitch)} mm`, guides: [] };
  }
  return free(point);
}

/** A coordinate on the square grid, or to a tenth of a mm where there is none. @param {number} value @param {number} axis @param {Targets["grid"]} grid */
function rest(value, axis, grid) {
  const origin = grid ? (axis ? grid.y : grid.x) : 0;
  const step = grid ? grid.pitch : FREE;
  return tidy(origin + Math.round((value - origin) / step) * step);
}

/** A place that nothing is near: to a tenth of a mm, for no hand is steadier. @param {Point} point @returns {Snap} */
export const free = (point) => ({
  point: /** @type {Point} */ (point.map((v) => tidy(Math.round(v / FREE) * FREE))),
  kind: "",
  label: "",
  guides: [],
});

/** @param {number} value */
const tidy = (value) => Number(value.toPrecision(13));

/** @param {Point} point @param {SpotTarget[]} spots @param {number} reach */
function nearest(point, spots, reach) {
  let best = null;
  let least = reach;
  for (const spot of spots) {
    const away = distance(point, spot.point);
    if (away < least) [best, least] = [spot, away];
  }
  return best;
}

/** In line with centres to the left and right, to the front and rear, and with 45° from a starting place. @param {Point} point @param {SpotTarget[]} spots @param {Point|null} from @param {number} reach @param {Targets["grid"]} grid @returns {Snap|null} */
function alignedWith(point, spots, from, reach, grid) {
  const loose = /** @type {Point} */ ([0, 1].map((axis) => rest(point[axis], axis, grid)));
  const centres = spots.filter((spot) => spot.kind === "centre" || spot.kind === "drop");
  const level = leastOff(centres, 1, point, reach);
  const plumb = leastOff(centres, 0, point, reach);
  if (from && distance(from, point) > reach) {
    const diagonal = onDiagonal(from, point, grid ? Math.min(1, grid.pitch) : FREE);
    if (distance(diagonal, point) < reach)
      return { point: diagonal, kind: "45°", label: "45° from the start", guides: [[from, diagonal]] };
    for (const axis of [0, 1]) {
      if (Math.abs(from[axis] - point[axis]) < reach) {
        const crossing = axis === 0 ? level : plumb;
        const on = /** @type {Point} */ ([...loose]);
        on[axis] = from[axis];
        if (crossing) on[1 - axis] = crossing.point[1 - axis];
        const guides = /** @type {[Point, Point][]} */ ([[from, on], ...(crossing ? [[crossing.point, on]] : [])]);
        return {
          point: on,
          kind: "square",
          label: crossing ? `square, in line with ${crossing.owner ?? crossing.label}` : "square to the start",
          guides,
        };
      }
    }
  }
  if (!level && !plumb) return null;
  const on = /** @type {Point} */ ([plumb ? plumb.point[0] : loose[0], level ? level.point[1] : loose[1]]);
  const named = [plumb, level].filter((s) => s !== null);
  return {
    point: on,
    kind: "in line",
    label: `in line with ${[...new Set(named.map((s) => s.owner ?? s.label))].join(" and ")}`,
    guides: named.map((s) => [s.point, on]),
  };
}

/** @param {SpotTarget[]} spots @param {0|1} axis @param {Point} point @param {number} reach */
function leastOff(spots, axis, point, reach) {
  let best = null;
  let least = reach;
  for (const spot of spots) {
    const off = Math.abs(spot.point[axis] - point[axis]);
    if (off < least || (best && off === least && distance(spot.point, point) < distance(best.point, point)))
      [best, least] = [spot, off];
  }
  return best;
}

/** @param {Point} from @param {Point} to @param {number} step @returns {Point} */
function onDiagonal(from, to, step) {
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const reach = Math.round((Math.abs(dx) + Math.abs(dy)) / 2 / step) * step;
  return [from[0] + Math.sign(dx) * reach, from[1] + Math.sign(dy) * reach];
}
