/** What labels and signs of findings keep clear of on the screen: ports and holes before all, then channels, then lines. */

import { DEFAULTS } from "../format.js";
import { LAYER_OF, roughRadius } from "../geometry/hits.js";
import { boxAbout } from "../geometry/labelplaces.js";
import { outlinePoints } from "../geometry/outline.js";
import { distance, nearestOn } from "../geometry/path.js";
import { toScreen } from "../geometry/view.js";
import { cornersOf, itemsOf, placeOf } from "../model/document.js";
import { lineOfBody, pathCorners } from "./bodies.js";

/**
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").State} State
 * @typedef {import("../types.js").View} View
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Box} Box
 * @typedef {import("../geometry/labelplaces.js").Taken} Taken
 */

/** Ports, holes, branches and channels. @param {State} state @param {Map<string, Point>} roots @returns {Taken[]} */
export function takenBy({ document, view, layers }, roots) {
  /** @type {Taken[]} */
  const taken = [];
  for (const kind of /** @type {const} */ (["port", "hole", "branch"])) {
    if (layers[LAYER_OF[kind]] === "hidden") continue;
    for (const one of itemsOf(document, kind)) {
      const item = /** @type {Item} */ (one);
      const round = !(kind === "port" && item.face === "edge");
      taken.push({ box: boxOf(view, kind, item, roots), weight: kind === "hole" ? 0.6 : 1, round });
    }
  }
  if (layers.channels === "hidden") return taken;
  for (const channel of itemsOf(document, "channel")) {
    const item = /** @type {Item} */ (channel);
    const corners = cornersOf(document, item, roots).map((p) => toScreen(view, p));
    const half = ((item.width_mm ?? 0) * view.scale) / 2;
    for (let i = 0; i + 1 < corners.length; i += 1) taken.push(leg(corners[i], corners[i + 1], half));
  }
  return taken;
}

/** @param {Point} a px @param {Point} b px @param {number} half half the channel's width, px @returns {Taken} */
const leg = (a, b, half) => ({
  box: [Math.min(a[0], b[0]) - half, Math.min(a[1], b[1]) - half, Math.max(a[0], b[0]) + half, Math.max(a[1], b[1]) + half],
  // A slanted leg's box is mostly empty.
  weight: Math.abs(a[0] - b[0]) > 4 * half && Math.abs(a[1] - b[1]) > 4 * half ? 0.03 : 0.2,
});

/** Whose outlines are drawn as lines that a label should not stand on. */
const LINED = /** @type {const} */ (["cutout", "pocket", "keep-out", "obstacle", "opening"]);
/** How bad it is that a line goes through a label: it can be read, but beside the line it reads better. */
const OVER_LINE = 0.2;
/** Tubes are drawn over labels, and so are dimension lines. */
const [UNDER_TUBE, UNDER_DIMENSION] = [0.4, 0.4];
/** A slanted or round edge is taken in pieces no longer than this, px. */
const PIECE = 10;
/** With more pieces than these only ports, channels and words are kept clear of: labels must not take their time. */
const MOST_PIECES = 4000;

/** What the window cuts off reads worst of all; yet what is out of sight keeps its label, for the view may move. */
const CUT_OFF = 3;
const FAR = 1e5;

/** What lies outside of the window. @param {Point} size of the drawing, px @returns {Taken[]} */
export const outOfSight = ([wide, deep]) =>
  /** @type {Box[]} */ ([
    [-FAR, -FAR, 0, FAR],
    [wide, -FAR, FAR, FAR],
    [0, -FAR, wide, 0],
    [0, deep, wide, FAR],
  ]).map((box) => ({ box, weight: CUT_OFF, line: true }));

/** The lines of outlines, boards and devices, and tubes: beside one a label is read more easily than across it. @param {State} state @param {SVGElement} svg the drawing, which knows the shapes of boards, devices and tubes @returns {Taken[]} */
export function linesOf({ document, view, layers }, svg) {
  /** @type {Taken[]} */
  const lines = [];
  /** @param {Point[]} points mm @param {boolean} closed @param {number} half mm @param {number} weight */
  const along = (points, closed, half, weight) => {
    const corners = points.map((p) => toScreen(view, p));
    const last = closed ? corners.length : corners.length - 1;
    for (let i = 0; i < last && lines.length <= MOST_PIECES; i += 1)
      lines.push(...pieces(corners[i], corners[(i + 1) % corners.length], half * view.scale + 1, weight));
  };
  for (const kind of LINED)
    if (layers[LAYER_OF[kind]] !== "hidden") for (const { outline } of itemsOf(document, kind)) along(outlinePoints(outline), true, 0, OVER_LINE);
  if (layers.floor !== "hidden" && document.floor) along(outlinePoints(document.floor.outline), true, 0, OVER_LINE);
  if (layers.plate !== "hidden" && document.plate) along(outlinePoints(document.plate.outline), true, 0, OVER_LINE);
  for (const path of /** @type {NodeListOf<SVGGraphicsElement>} */ (svg.querySelectorAll("#world .layer:not(.hidden) .item > :is(path.hardware, path.tube-line)"))) {
    const tube = path.classList.contains("tube-line");
    const points = tube ? pathCorners(path.getAttribute("d") ?? "") : lineOfBody(path);
    along(points, !tube, tube ? halfOf(path, points) : 0, tube ? UNDER_TUBE : OVER_LINE);
  }
  for (const line of svg.querySelectorAll("#world .layer:not(.hidden) .item > line:is(.dimension-line, .extension)")) {
    const [x1, y1, x2, y2] = ["x1", "y1", "x2", "y2"].map((name) => Number(line.getAttribute(name)));
    const from = lines.length;
    along([[x1, y1], [x2, y2]], false, 0, UNDER_DIMENSION);
    const owner = /** @type {SVGElement|null} */ (line.closest("g.item"))?.dataset.id;
    for (let i = from; i < lines.length; i += 1) lines[i] = { ...lines[i], owner };
  }
  return lines.length > MOST_PIECES ? [] : lines;
}

/** Half the width that a tube is drawn with, mm: a corner of its strip is so far off its centreline. @param {Element} line @param {Point[]} course */
function halfOf(line, course) {
  const [corner] = pathCorners(line.parentElement?.querySelector("path.tube")?.getAttribute("d") ?? "");
  if (!corner) return 0;
  return Math.min(...course.slice(1).map((b, i) => distance(corner, nearestOn(corner, course[i], b))));
}

/** @param {Point} a px @param {Point} b px @param {number} half px @param {number} weight */
function pieces(a, b, half, weight) {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const level = Math.abs(dx) < 2 || Math.abs(dy) < 2;
  const count = level ? 1 : Math.min(60, Math.ceil(Math.hypot(dx, dy) / PIECE));
  return Array.from({ length: count }, (_, k) => {
    const [p, q] = [k / count, (k + 1) / count].map((share) => [a[0] + share * dx, a[1] + share * dy]);
    /** @type {Box} */
    const box = [Math.min(p[0], q[0]) - half, Math.min(p[1], q[1]) - half, Math.max(p[0], q[0]) + half, Math.max(p[1], q[1]) + half];
    return { box, weight, line: true };
  });
}

/** What is seen of a port, a hole or a branch, px. @param {View} view @param {import("../types.js").Kind} kind @param {Item} item @param {Map<string, Point>} roots @returns {Box} */
export function boxOf(view, kind, item, roots) {
  const at = placeOf(item);
  const root = roots.get(item.id);
  if (kind === "port" && item.face === "edge" && root) return edgeBox(view, item, at, root);
  const r = roughRadius(kind, item) * view.scale * (kind === "hole" ? 1 : 0.72);
  return boxAbout(toScreen(view, at), [2 * r, 2 * r]);
}

/** An edge port with its fitting, which stands outside the plate and is about as long as it is wide, and its thread. @param {View} view @param {Item} item @param {Point} at @param {Point} root where channels reach it, mm @returns {Box} */
function edgeBox(view, item, at, root) {
  const half = roughRadius("port", item);
  const far = Math.hypot(root[0] - at[0], root[1] - at[1]) || 1;
  const [hx, hy] = [(root[0] - at[0]) / far, (root[1] - at[1]) / far];
  const deep = item.thread_depth_mm ?? DEFAULTS.Port.thread_depth_mm;
  const corners = [-2 * half, deep].flatMap((way) =>
    [-half, half].map((side) => toScreen(view, [at[0] + way * hx - side * hy, at[1] + way * hy + side * hx])),
  );
  const [xs, ys] = [corners.map(([x]) => x), corners.map(([, y]) => y)];
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}
