/**
 * Items turned in plan about one place, as a rigid whole. Pure.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Kind} Kind
 * @typedef {import("../types.js").Point} Point
 */

import { withEnds } from "./dimensions.js";
import { centreOf, find, placeOf } from "./document.js";
import { change, micro, movable, withCourse } from "./edit.js";
import { byThemselves } from "./following.js";
import { outlineTurned, turnedBy } from "./outlines.js";

/** Whether turning changes anything of an item when it is turned by itself. @param {PlateDocument} document @param {string} id */
export function turnable(document, id) {
  const found = find(document, id);
  if (!found || !movable(found.item, found.kind) || !byThemselves(document, [id]).length) return false;
  const { kind, item } = found;
  if (kind === "board" || kind === "device") return true;
  if (item.outline) return item.outline.shape !== "circle";
  return kind === "hole" ? Boolean(item.slot_length_mm) : false;
}

/** About where the items are turned: the middle of their middles. @param {PlateDocument} document @param {string[]} ids @param {(id: string) => Point|null} [drawnMiddle] of boards and devices, whose own place is a corner @returns {Point|null} */
export function pivotOf(document, ids, drawnMiddle = () => null) {
  const places = ids.map((id) => drawnMiddle(id) ?? centreOf(document, id)).filter((p) => p !== null);
  if (!places.length) return null;
  const [xs, ys] = [places.map((p) => p[0]), places.map((p) => p[1])];
  return [(Math.min(...xs) + Math.max(...xs)) / 2, (Math.min(...ys) + Math.max(...ys)) / 2];
}

/**
 * Items turned together about a place, counter-clockwise; what is locked or held by something stays.
 * @param {PlateDocument} document @param {string[]} ids @param {Point} about @param {number} deg @returns {PlateDocument}
 */
export function turn(document, ids, about, deg) {
  if (!deg) return document;
  return byThemselves(document, ids).reduce((next, id) => {
    const found = find(next, id);
    if (!found || !movable(found.item, found.kind)) return next;
    return change(next, id, (item, kind) => itemTurned(item, kind, about, deg));
  }, document);
}

/** @param {Item} item @param {Kind} kind @param {Point} about @param {number} deg @returns {Item} */
function itemTurned(item, kind, about, deg) {
  if (kind === "channel" || kind === "tube") return { ...item, points: (item.points ?? []).map((p) => moved(p, about, deg)) };
  if (kind === "dimension") return withEnds(item, (ref) => ref, (p) => placeOf(moved({ x_mm: p[0], y_mm: p[1] }, about, deg))) ?? item;
  if (item.outline && kind !== "device") return withCourse({ ...item, outline: outlineTurned(item.outline, about, deg) }, (p) => moved(p, about, deg));
  const next = moved(item, about, deg);
  if (kind === "board" || kind === "device") next.turn_deg = turnedBy(item.turn_deg, deg);
  if (kind === "hole" && item.slot_length_mm) next.turn_deg = turnedBy(item.turn_deg, deg);
  if (kind === "port" && typeof item.heading_deg === "number") next.heading_deg = turnedBy(item.heading_deg, deg);
  return next;
}

/** @template {{x_mm?: number|null, y_mm?: number|null}} P @param {P} place @param {Point} about @param {number} deg @returns {P} */
function moved(place, about, deg) {
  const angle = (deg * Math.PI) / 180;
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const [dx, dy] = [(place.x_mm ?? 0) - about[0], (place.y_mm ?? 0) - about[1]];
  return { ...place, x_mm: micro(about[0] + c * dx - s * dy), y_mm: micro(about[1] + s * dx + c * dy) };
}
