/**
 * Outlines given by corners, changed by hand: corners and edges moved, put in and taken out, rounded, arched. Pure.
 *
 * @typedef {import("../types.js").Outline} Outline
 * @typedef {import("../types.js").Point} Point
 * @typedef {Extract<Outline, {shape: "polygon"}>} Polygon
 * @typedef {Polygon["vertices"][number]} Vertex
 */

import { outlineCorners } from "./document.js";
import { micro, put } from "./edit.js";

/** Steeper than this an arc cannot be written, and 337 degrees are enough. */
const STEEPEST_BULGE = 10;

/** @param {Polygon} outline @param {number} i @returns {Point} */
const corner = (outline, i) => {
  const n = outline.vertices.length;
  const { x_mm: x, y_mm: y } = outline.vertices[((i % n) + n) % n];
  return [x, y];
};

/** @param {Polygon} outline @param {number} i @param {Partial<Vertex>} values @returns {Polygon} */
const withVertex = (outline, i, values) => ({
  ...outline,
  vertices: outline.vertices.map((v, k) => (k === i ? { ...v, ...values } : v)),
});

/** @param {Point} point */
const placed = ([x, y]) => ({ x_mm: micro(x), y_mm: micro(y) });

/** A corner set somewhere else. @param {Polygon} outline @param {number} i @param {Point} to */
export const cornerMoved = (outline, i, to) => withVertex(outline, i, placed(to));

/** The bulge of an edge, 0 when it is straight. @param {Polygon} outline @param {number} i */
export const bulgeOf = (outline, i) => outline.vertices[(i + outline.vertices.length) % outline.vertices.length].bulge ?? 0;

/** Twice the signed area of the corners, mm²: positive when they run counter-clockwise. @param {Polygon} outline */
function twiceArea(outline) {
  return outline.vertices.reduce((sum, _, i) => {
    const [a, b] = [corner(outline, i), corner(outline, i + 1)];
    return sum + a[0] * b[1] - a[1] * b[0];
  }, 0);
}

/** +1 where a positive bulge swells outwards, −1 where it swells inwards: corners may run either way round. @param {Polygon} outline */
export const outward = (outline) => (twiceArea(outline) >= 0 ? 1 : -1);

/** How far an edge's arc swells beyond its chord, mm, outwards positive. @param {Polygon} outline @param {number} i */
export function archOf(outline, i) {
  const [a, b] = [corner(outline, i), corner(outline, i + 1)];
  return (outward(outline) * bulgeOf(outline, i) * Math.hypot(b[0] - a[0], b[1] - a[1])) / 2;
}

/** An edge made an arc that swells so far beyond its chord, mm; 0 makes it straight. The corners at its ends lose their rounding: only straight edges can have one. @param {Polygon} outline @param {number} i @param {number} arch @returns {Polygon} */
export function arched(outline, i, arch) {
  const [a, b] = [corner(outline, i), corner(outline, i + 1)];
  const chord = Math.hypot(b[0] - a[0], b[1] - a[1]);
  if (!chord) return outline;
  const bulge = Math.max(-STEEPEST_BULGE, Math.min(STEEPEST_BULGE, (outward(outline) * 2 * arch) / chord));
  const next = (i + 1) % outline.vertices.length;
  return {
    ...outline,
    vertices: outline.vertices.map((v, k) => {
      const own = k === i ? put(v, ["bulge"], Math.abs(bulge) < 1e-9 ? undefined : bulge) : v;
      return bulge && (k === i || k === next) ? put(own, ["corner_radius_mm"], undefined) : own;
    }),
  };
}

/** A corner's rounding, mm; 0 makes it sharp. @param {Polygon} outline @param {number} i @param {number} radius */
export const cornerRounded = (outline, i, radius) => ({
  ...outline,
  vertices: outline.vertices.map((v, k) =>
    k === i ? put(v, ["corner_radius_mm"], radius > 0 ? micro(radius) : undefined) : v,
  ),
});

/**
 * A corner put into an edge. An arc is parted into two of the same circle.
 * @param {Polygon} outline @param {number} i the edge from corner i on @param {Point} point @returns {Polygon}
 */
export function cornerInserted(outline, i, point) {
  const vertices = [...outline.vertices];
  const bulge = bulgeOf(outline, i);
  if (!bulge) {
    vertices.splice(i + 1, 0, placed(point));
    return { ...outline, vertices };
  }
  const [a, b] = [corner(outline, i), corner(outline, i + 1)];
  const lift = (1 - bulge * bulge) / (4 * bulge);
  const [cx, cy] = [(a[0] + b[0]) / 2 - lift * (b[1] - a[1]), (a[1] + b[1]) / 2 + lift * (b[0] - a[0])];
  const radius = Math.hypot(a[0] - cx, a[1] - cy);
  const away = Math.hypot(point[0] - cx, point[1] - cy) || 1;
  const whole = 4 * Math.atan(bulge);
  const turned = Math.atan2(point[1] - cy, point[0] - cx) - Math.atan2(a[1] - cy, a[0] - cx);
  const full = 2 * Math.PI;
  const first = Math.sign(whole) * ((((Math.sign(whole) * turned) % full) + full) % full);
  // A place beside the arc's own stretch parts it in the middle.
  const share = Math.abs(first) < Math.abs(whole) ? first / whole : 0.5;
  const on = /** @type {Point} */ (
    share === 0.5
      ? [cx + rotated(a[0] - cx, a[1] - cy, whole / 2)[0], cy + rotated(a[0] - cx, a[1] - cy, whole / 2)[1]]
      : [cx + ((point[0] - cx) * radius) / away, cy + ((point[1] - cy) * radius) / away]
  );
  vertices[i] = { ...vertices[i], bulge: Math.tan((whole * share) / 4) };
  vertices.splice(i + 1, 0, { ...placed(on), bulge: Math.tan((whole * (1 - share)) / 4) });
  return { ...outline, vertices };
}

/** @param {number} x @param {number} y @param {number} angle @returns {Point} */
const rotated = (x, y, angle) => [
  x * Math.cos(angle) - y * Math.sin(angle),
  x * Math.sin(angle) + y * Math.cos(angle),
];

/** A corner taken out, and a straight edge in its place; the same outline when too few would be left. @param {Polygon} outline @param {number} i @returns {Polygon} */
export function cornerRemoved(outline, i) {
  const n = outline.vertices.length;
  const before = (i + n - 1) % n;
  const vertices = outline.vertices
    .map((v, k) => (k === before ? put(v, ["bulge"], undefined) : v))
    .filter((_, k) => k !== i);
  const arcs = vertices.some((v) => v.bulge);
  return vertices.length > 2 || (vertices.length === 2 && arcs) ? { ...outline, vertices } : outline;
}

/**
 * An edge moved parallel to itself until its line runs through a place. Straight neighbours are lengthened or cut, so
 * that they keep their direction; beside an arc, or a neighbour that runs the same way, the edge's end goes along.
 * @param {Polygon} outline @param {number} i @param {Point} through @returns {Polygon}
 */
export function edgeMoved(outline, i, through) {
  const [a, b] = [corner(outline, i), corner(outline, i + 1)];
  const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
  if (!length) return outline;
  const normal = /** @type {Point} */ ([-(b[1] - a[1]) / length, (b[0] - a[0]) / length]);
  const by = (through[0] - a[0]) * normal[0] + (through[1] - a[1]) * normal[1];
  /** @param {Point} end @param {Point} beyond the neighbour's other end @param {boolean} straight @returns {Point} */
  const shifted = (end, beyond, straight) => {
    const [ux, uy] = [end[0] - beyond[0], end[1] - beyond[1]];
    const off = ux * normal[0] + uy * normal[1];
    const steep = Math.abs(off) > 0.02 * Math.hypot(ux, uy);
    return straight && steep
      ? [end[0] + (ux * by) / off, end[1] + (uy * by) / off]
      : [end[0] + normal[0] * by, end[1] + normal[1] * by];
  };
  const n = outline.vertices.length;
  const first = shifted(a, corner(outline, i - 1), !bulgeOf(outline, i - 1));
  const last = shifted(b, corner(outline, i + 2), !bulgeOf(outline, i + 1));
  return cornerMoved(cornerMoved(outline, i, first), (i + 1) % n, last);
}

/** The same outline given by its corners, so that each can be moved by itself. @param {Outline} outline @returns {Polygon} */
export function asPolygon(outline) {
  if (outline.shape === "polygon") return outline;
  if (outline.shape === "circle") {
    const quarter = Math.tan(Math.PI / 8);
    return { shape: "polygon", vertices: outlineCorners(outline).map((p) => ({ ...placed(p), bulge: quarter })) };
  }
  if (outline.shape === "rectangle") {
    const radius = outline.corner_radius_mm ? { corner_radius_mm: outline.corner_radius_mm } : {};
    return { shape: "polygon", vertices: outlineCorners(outline).map((p) => ({ ...placed(p), ...radius })) };
  }
  const turn = ((outline.turn_deg ?? 0) * Math.PI) / 180;
  const [half, r] = [(outline.length_mm - outline.width_mm) / 2, outline.width_mm / 2];
  if (half <= 0) {
    const { x_mm, y_mm, width_mm } = outline;
    return asPolygon({ shape: "circle", x_mm, y_mm, diameter_mm: width_mm });
  }
  const at = (/** @type {number} */ u, /** @type {number} */ v) => {
    const [x, y] = rotated(u, v, turn);
    return placed([outline.x_mm + x, outline.y_mm + y]);
  };
  return {
    shape: "polygon",
    vertices: [at(-half, -r), { ...at(half, -r), bulge: 1 }, at(half, r), { ...at(-half, r), bulge: 1 }],
  };
}
