/**
 * Cable slots: pockets that lead a cable from a pocket to a cutout, to an opening in the floor or over the plate's edge.
 * Pure; their outline is the server's to work out.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Point} Point
 */

import { DEFAULTS } from "../format.js";
import { distance } from "../geometry/path.js";
import { find, outlineCentre, placeOf } from "./document.js";
import { change, micro, put } from "./edit.js";

/** Whether an item is a slot whose outline goes by what it joins. @param {Item|null|undefined} item */
export const isLed = (item) => Boolean(item?.cable) && (item?.cable?.in_step ?? DEFAULTS.CableSlot.in_step);

/** What a slot joins: the pocket, and its other end unless that is the plate's edge. @param {Item} item @returns {string[]} */
export const joinedBy = (item) => [item.cable?.start, item.cable?.end].filter((id) => typeof id === "string");

/** A slot's width, mm. @param {NonNullable<Item["cable"]>} cable */
export const slotWidth = (cable) => (cable.cable_mm ?? DEFAULTS.CableSlot.cable_mm) + (cable.clearance_mm ?? DEFAULTS.CableSlot.clearance_mm);

/** The corners on its way. @param {Item} item @returns {{x_mm: number, y_mm: number}[]} */
export const slotCorners = (item) => item.cable?.points ?? [];

/** @param {PlateDocument} document @param {string} id @param {(points: {x_mm: number, y_mm: number}[]) => {x_mm: number, y_mm: number}[]} reshape */
const withCorners = (document, id, reshape) =>
  change(document, id, (item) => {
    const points = reshape(slotCorners(item));
    return item.cable ? put(item, ["cable", "points"], points.length ? points : undefined) : item;
  });

/** @param {Point} point */
const place = ([x, y]) => ({ x_mm: micro(x), y_mm: micro(y) });

/** A corner put in before the one at `index`. @param {PlateDocument} document @param {string} id @param {number} index @param {Point} point */
export const insertSlotCorner = (document, id, index, point) => withCorners(document, id, (points) => points.toSpliced(index, 0, place(point)));

/** @param {PlateDocument} document @param {string} id @param {number} index @param {Point} point */
export const moveSlotCorner = (document, id, index, point) => withCorners(document, id, (points) => points.with(index, place(point)));

/** @param {PlateDocument} document @param {string} id @param {number} index */
export const removeSlotCorner = (document, id, index) => withCorners(document, id, (points) => points.toSpliced(index, 1));

/** Whether a round end of a slot's outline begins at a corner: half a circle. @param {number|undefined} bulge */
const roundEnd = (bulge) => Math.abs(Math.abs(bulge ?? 0) - 1) < 1e-3;

/** Both ends of a slot's centreline, as it is drawn; none for an outline by hand. @param {Item} item @returns {Point[]} */
function endsOf(item) {
  const { outline } = item;
  if (outline?.shape === "slot") {
    const reach = Math.max(0, outline.length_mm - outline.width_mm) / 2;
    const angle = ((outline.turn_deg ?? 0) * Math.PI) / 180;
    const [dx, dy] = [reach * Math.cos(angle), reach * Math.sin(angle)];
    return [
      [outline.x_mm - dx, outline.y_mm - dy],
      [outline.x_mm + dx, outline.y_mm + dy],
    ];
  }
  if (outline?.shape !== "polygon") return [];
  const { vertices } = outline;
  const ends = vertices.flatMap((from, i) => {
    const to = vertices[(i + 1) % vertices.length];
    return roundEnd(from.bulge) ? [/** @type {Point} */ ([(from.x_mm + to.x_mm) / 2, (from.y_mm + to.y_mm) / 2])] : [];
  });
  return ends.length === 2 ? ends : [];
}

/** A slot's centreline: its first end, its corners, its last end. @param {PlateDocument} document @param {Item} item @returns {Point[]} */
export function slotCourse(document, item) {
  const corners = slotCorners(item).map(placeOf);
  const ends = endsOf(item);
  const start = find(document, item.cable?.start)?.item;
  if (ends.length !== 2) return corners;
  const near = corners[0] ?? (start?.outline ? outlineCentre(start.outline) : ends[0]);
  const turned = corners.length
    ? distance(ends[0], near) + distance(ends[1], corners[corners.length - 1]) > distance(ends[1], near) + distance(ends[0], corners[corners.length - 1])
    : distance(ends[0], near) > distance(ends[1], near);
  const [first, last] = turned ? ends.toReversed() : ends;
  return [first, ...corners, last];
}

/** A slot with a corner more, in the middle of its longest leg; the number of that corner. @param {PlateDocument} document @param {string} id @returns {{document: PlateDocument, index: number}|null} */
export function withSlotCorner(document, id) {
  const item = find(document, id)?.item;
  const course = item ? slotCourse(document, item) : [];
  const legs = course.slice(1).map((to, i) => distance(course[i], to));
  if (!legs.length) return null;
  const index = legs.indexOf(Math.max(...legs));
  const [a, b] = [course[index], course[index + 1]];
  return { document: insertSlotCorner(document, id, index, [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]), index };
}

/** Where a cable can leave the plate: its edge first, then cutouts, and openings under a slot in the bottom face. @param {PlateDocument} document @param {string} [face] @returns {[string, string][]} value and words */
export const waysOut = (document, face) => [
  ["", "the plate's edge"],
  ...(document.cutouts ?? []).map(({ id }) => /** @type {[string, string]} */ ([id, `the cutout ${id}`])),
  ...(face === "bottom" ? (document.floor?.openings ?? []) : []).map(({ id }) => /** @type {[string, string]} */ ([id, `the opening ${id}`])),
];
