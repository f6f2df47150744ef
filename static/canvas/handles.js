/** The handles of what is selected: corners, bends, sides and the turn of one item, a sign at each of several. */

import { s } from "../dom.js";
import { along, edgesOf, outlinePoints } from "../geometry/outline.js";
import { distance, rounded, roundedClosed } from "../geometry/path.js";
import { toScreen } from "../geometry/view.js";
import { isLed, slotCorners, slotCourse } from "../model/cableslots.js";
import { cornersOf, find, isWhole, outlineCorners, outlineOf, placeOf, radiiOf } from "../model/document.js";
import { archOf, bulgeOf } from "../model/polygons.js";
import { pivotOf, turnable } from "../model/turning.js";
import { format } from "../model/quantity.js";
import { tubeCorners, tubePoints } from "../model/tubes.js";
import { label } from "./signs.js";

/**
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").State} State
 */

/** A leg shorter than this on the screen has no room for a sign that adds a corner, px. */
const SHORT_LEG = 56;

/** Corners nearer than this on the screen have no handle each: an outline from a drawing can have hundreds, px. */
const CLOSE_CORNERS = 9;
/** How far the handle that turns an item stands off it, px. */
const STALK = 34;

/** @param {State} state @param {PlateDocument} document @param {Pick<import("../types.js").Stage, "roots"|"ends"|"middleOf">} stage @returns {SVGElement[]} */
export function drawHandles(state, document, { roots, ends, middleOf }) {
  const { selection } = state;
  const turn = turnHandle(state, document, middleOf);
  if (selection.length !== 1) return [...selection.flatMap((id) => selectedSign(state, document, id)), ...turn];
  const [id] = selection;
  const found = find(document, id);
  if (found?.item.locked) return [];
  if (found?.kind === "channel") return channelHandles(state, found.item, cornersOf(document, found.item, roots));
  const tube = ends.get(id);
  if (tube) return [...tubeHandles(state, document, id, tube), ...turn];
  if (isLed(found?.item)) return found ? [...slotHandles(state, document, found.item), ...turn] : [];
  // What follows a thing has that thing's shape.
  const outline = found?.item.follows ? null : outlineOf(document, id);
  return [...(outline ? outlineHandles(state, id, outline) : []), ...turn];
}

/** @param {State} state @param {string} id @param {import("../types.js").Outline} outline */
function outlineHandles({ view, spot, unit }, id, outline) {
  const own = spot?.id === id ? spot : null;
  const corners = outlineCorners(outline).map((p) => toScreen(view, p));
  const edges = edgesOf(outline);
  const made = [];
  if (own?.edge && edges[own.index]) made.push(chosenEdge(view, edges[own.index]));
  edges.forEach(({ from, to, bulge }, i) => {
    const [a, b] = [toScreen(view, from), toScreen(view, to)];
    if (distance(a, b) <= SHORT_LEG) return;
    if (outline.shape !== "polygon") made.push(sideHandle(toScreen(view, along(from, to, bulge, 0.5)), i));
    else made.push(insertHandle(toScreen(view, along(from, to, bulge, 0.5)), i));
    if (outline.shape !== "polygon" || !(bulge || (own?.edge && own.index === i))) return;
    const words = own?.edge && own.index === i ? `↥ ${format(archOf(outline, i), unit, 2)}` : "";
    made.push(...knobHandle("arch", toScreen(view, along(from, to, bulge, 0.32)), i, words));
  });
  if (outline.shape === "polygon") made.push(...roundHandles(view, outline, own, unit));
  const kind = outline.shape === "polygon" ? "vertex" : "size";
  corners.forEach((p, i) => {
    const chosen = Boolean(own && !own.edge && own.index === i);
    const before = corners[(i + corners.length - 1) % corners.length];
    if (kind === "size" || chosen || distance(before, p) >= CLOSE_CORNERS) made.push(handle(kind, i, p, chosen));
  });
  return made;
}

/** The roundings of a polygon's corners, and one that can be pulled out of the corner that is chosen. @param {import("../types.js").View} view @param {import("../model/polygons.js").Polygon} outline @param {import("../types.js").Spot|null} own @param {import("../types.js").Unit} unit */
function roundHandles(view, outline, own, unit) {
  const { vertices } = outline;
  const bends = roundedClosed(
    vertices.map(placeOf),
    vertices.map((v) => v.corner_radius_mm ?? 0),
  );
  if (bends.length !== vertices.length) return [];
  return vertices.flatMap((vertex, i) => {
    const chosen = own && !own.edge && own.index === i;
    if (bulgeOf(outline, i) || bulgeOf(outline, i - 1) || !(vertex.corner_radius_mm || chosen)) return [];
    const [x, y] = toScreen(view, arcMiddle(bends[i]));
    if (bends[i].radius > 0)
      return knobHandle("round", [x, y], i, chosen ? `R ${format(bends[i].radius, unit, 2)}` : "");
    // A sharp corner has its handle a little inside, for under the corner's own it could not be taken hold of.
    const [bx, by] = inward(
      [x, y],
      toScreen(view, placeOf(vertices[(i + vertices.length - 1) % vertices.length])),
      toScreen(view, placeOf(vertices[(i + 1) % vertices.length])),
    );
    return knobHandle("round", [bx, by], i, "");
  });
}

/** So far off a sharp corner stands the handle that rounds it, px. */
const OFF_CORNER = 20;

/** @param {Point} corner @param {Point} a @param {Point} b @returns {Point} */
function inward(corner, a, b) {
  const unit = (/** @type {Point} */ p) => {
    const d = distance(corner, p) || 1;
    return [(p[0] - corner[0]) / d, (p[1] - corner[1]) / d];
  };
  const [u, v] = [unit(a), unit(b)];
  const size = Math.hypot(u[0] + v[0], u[1] + v[1]) || 1;
  return [corner[0] + ((u[0] + v[0]) / size) * OFF_CORNER, corner[1] + ((u[1] + v[1]) / size) * OFF_CORNER];
}

/** @param {import("../types.js").View} view @param {{from: Point, to: Point, bulge: number}} edge */
function chosenEdge(view, { from, to, bulge }) {
  const points = Array.from({ length: bulge ? 25 : 2 }, (_, k, n = bulge ? 24 : 1) =>
    toScreen(view, along(from, to, bulge, k / n)).join(" "),
  );
  return s("path.chosen-edge", { d: `M${points.join("L")}` });
}

/** The handle that turns what is selected: on a stalk over its highest place on the screen. @param {State} state @param {PlateDocument} document @param {(id: string) => Point|null} middleOf */
function turnHandle({ selection, view, turning, tool }, document, middleOf) {
  if (tool || !selection.length || !selection.some((id) => turnable(document, id))) return [];
  if (selection.length === 1 && isWhole(document, selection[0])) return [];
  const pivot = turning?.pivot ?? pivotOf(document, selection, middleOf);
  if (!pivot) return [];
  const [px, py] = toScreen(view, pivot);
  const tops = selection.flatMap((id) => {
    const outline = outlineOf(document, id);
    return outline ? outlinePoints(outline).map((p) => toScreen(view, p)[1]) : [];
  });
  const top = Math.min(py - 14, ...tops);
  const at = turning ? toScreen(view, turning.at) : [px, top - STALK];
  return [
    s("path.turn-stalk", { d: `M${px} ${turning ? py : top}L${at.join(" ")}` }),
    s(
      "g.handle.turn",
      { transform: `translate(${at[0]} ${at[1]})`, dataset: { handle: "turn", index: 0 } },
      s("title", {}, "Turn"),
      s("circle.target", { r: 12 }),
      s("path.turn-sign", { d: "M-5 2A5.5 5.5 0 1 1 2 5M2 5L-1 2.5M2 5L4.5 1.8" }),
    ),
    ...(turning ? [label(`${format(turning.deg, "mm", 1)}°`, [at[0], at[1] - 22])] : []),
  ];
}

/** A tick beside an item that is one of several. @param {State} state @param {PlateDocument} document @param {string} id */
function selectedSign({ view }, document, id) {
  const found = find(document, id);
  if (!found) return [];
  const { kind, item } = found;
  const corners =
    kind === "channel"
      ? cornersOf(document, item)
      : item.outline && kind !== "device"
        ? outlineCorners(item.outline)
        : [placeOf(item)];
  return corners.slice(0, 1).map((corner) => {
    const [x, y] = toScreen(view, corner);
    return s("path.selected-sign", { d: "M-4 0L-1 3L5 -4", transform: `translate(${x - 10} ${y - 10})` });
  });
}

/** @param {State} state @param {Item} channel @param {Point[]} corners */
function channelHandles({ view, spot, unit }, channel, corners) {
  const bends = rounded(corners, radiiOf(channel));
  const offset = channel.start ? 1 : 0;
  const made = bends
    .slice(1)
    .flatMap((bend, i) => plus(toScreen(view, bends[i].to), toScreen(view, bend.from), i + 1 - offset));
  (channel.points ?? []).forEach((point, i) => {
    const bend = bends[i + offset];
    const chosen = spot?.id === channel.id && spot.index === i;
    if (bend.radius > 0.01)
      made.push(...bendHandle(toScreen(view, arcMiddle(bend)), i, chosen ? `R ${format(bend.radius, unit, 2)}` : ""));
    made.push(handle("corner", i, toScreen(view, placeOf(point)), chosen));
  });
  return made;
}

/** The corners of a tube, and what puts a new one into each of its legs. @param {State} state @param {PlateDocument} document @param {string} id @param {[import("../model/tubes.js").Place, import("../model/tubes.js").Place]} ends */
function tubeHandles({ view, spot }, document, id, ends) {
  const points = tubePoints(document, id);
  if (!points) return [];
  const corners = tubeCorners(document, id, ends).map(([x, y]) => toScreen(view, [x, y]));
  return [
    ...corners.slice(1).flatMap((to, i) => plus(corners[i], to, i, "insert-tube")),
    ...points.map((_, i) => handle("tube-corner", i, corners[i + 1], spot?.id === id && spot.index === i)),
  ];
}

/** The centreline of a cable slot, its corners, and what puts a new one into each of its legs. @param {State} state @param {PlateDocument} document @param {Item} slot */
function slotHandles({ view, spot }, document, slot) {
  const course = slotCourse(document, slot).map((p) => toScreen(view, p));
  const own = slotCorners(slot).map((p) => toScreen(view, placeOf(p)));
  return [
    ...(course.length > 1 ? [s("path.chosen-edge", { d: `M${course.map((p) => p.join(" ")).join("L")}` })] : []),
    ...course.slice(1).flatMap((to, i) => plus(course[i], to, i, "insert-slot")),
    ...own.map((p, i) => handle("slot-corner", i, p, spot?.id === slot.id && spot.index === i)),
  ];
}

/** What puts a corner into a leg, in its middle. @param {Point} a px @param {Point} b px @param {number} index @param {string} [kind] */
function plus(a, b, index, kind = "insert") {
  if (distance(a, b) <= SHORT_LEG) return [];
  return [
    s(
      "g.handle.add-corner",
      { transform: `translate(${(a[0] + b[0]) / 2} ${(a[1] + b[1]) / 2})`, dataset: { handle: kind, index } },
      s("circle.target", { r: 12 }),
      s("path", { d: "M-5 0H5M0 -5V5" }),
    ),
  ];
}

/** @param {Point} at px @param {number} index */
const insertHandle = ([x, y], index) =>
  s(
    "g.handle.add-corner",
    { transform: `translate(${x} ${y})`, dataset: { handle: "insert-vertex", index } },
    s("title", {}, "Drag to add a corner; click to select the edge"),
    s("circle.target", { r: 12 }),
    s("path", { d: "M-5 0H5M0 -5V5" }),
  );

/** @param {Point} at px @param {number} index */
const sideHandle = ([x, y], index) =>
  s(
    "g.handle.side",
    { transform: `translate(${x} ${y})`, dataset: { handle: "side", index } },
    s("circle.target", { r: 12 }),
    s("path.knob", { d: "M-4.5 -4.5H4.5V4.5H-4.5Z" }),
  );

/** The handle of a bend's radius, in the middle of its arc. @param {Point} at px @param {number} index @param {string} words */
const bendHandle = (at, index, words) => knobHandle("bend", at, index, words);

/** A handle in the shape of a diamond: it makes something rounder. @param {string} kind @param {Point} at px @param {number} index @param {string} words */
function knobHandle(kind, [x, y], index, words) {
  const made = s(
    "g.handle.bend",
    { transform: `translate(${x} ${y})`, dataset: { handle: kind, index } },
    s("circle.target", { r: 12 }),
    s("path", { d: "M0 -5L5 0L0 5L-5 0Z" }),
  );
  return words ? [made, label(words, [x, y + 24])] : [made];
}

/** @param {import("../geometry/path.js").Bend} bend @returns {Point} */
function arcMiddle({ corner, from, to, radius, turn }) {
  /** @type {Point} */
  const middle = [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2];
  const reach = distance(corner, middle) || 1;
  const inward = radius / Math.cos(Math.abs(turn) / 2) - radius;
  return [
    corner[0] + ((middle[0] - corner[0]) / reach) * inward,
    corner[1] + ((middle[1] - corner[1]) / reach) * inward,
  ];
}

/** @param {string} kind @param {number} index @param {Point} at px @param {boolean} chosen */
const handle = (kind, index, [x, y], chosen) =>
  s(
    `g.handle.${kind}${chosen ? ".chosen" : ""}`,
    { transform: `translate(${x} ${y})`, dataset: { handle: kind, index } },
    s("circle.target", { r: 12 }),
    s("circle.knob", { r: 5 }),
  );
