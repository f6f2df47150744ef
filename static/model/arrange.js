/**
 * Several items at once: copies, mirror images, rows, alignment, even spreading. Pure functions.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Point} Point
 */

import { centreOf, find, outlineCorners } from "./document.js";
import { add, micro, move, movable, outlineMoved, put } from "./edit.js";

/** Kinds whose copies make sense; a copied port serves nothing yet, for one tube needs one port. */
const COPIED = new Set([
  "port",
  "branch",
  "channel",
  "cutout",
  "pocket",
  "hole",
  "keep-out",
  "obstacle",
  "opening",
  "board",
  "device",
]);

/**
 * Copies of the items, so far away; channels between copied ends join the copies.
 * @param {PlateDocument} document @param {string[]} ids @param {number} dx mm @param {number} dy mm
 * @returns {{document: PlateDocument, ids: string[]}}
 */
export function copy(document, ids, dx, dy) {
  return copyBy(document, ids, (item, kind) => shifted(item, kind, dx, dy));
}

/** @param {PlateDocument} document @param {string[]} ids @param {(item: Item, kind: string) => Item} place */
function copyBy(document, ids, place) {
  /** @type {Map<string, string>} */
  const names = new Map();
  let next = document;
  const order = [...ids].sort(
    (a, b) => Number(find(document, a)?.kind === "channel") - Number(find(document, b)?.kind === "channel"),
  );
  for (const id of order) {
    const found = find(document, id);
    if (!found || !COPIED.has(found.kind)) continue;
    const { id: _, locked, serves, ...values } = place(found.item, found.kind);
    if (found.kind === "channel") {
      for (const end of ["start", "end"]) {
        if (!values[end]) continue;
        const copied = names.get(values[end]);
        if (copied) {
          values[end] = copied;
        } else {
          // The end stays behind: the copy ends freely where the end would have come to.
          const held = find(document, values[end]);
          const at = held ? place(held.item, held.kind) : null;
          delete values[end];
          if (at)
            values.points =
              end === "start"
                ? [{ x_mm: at.x_mm, y_mm: at.y_mm }, ...(values.points ?? [])]
                : [...(values.points ?? []), { x_mm: at.x_mm, y_mm: at.y_mm }];
        }
      }
    }
    const added = add(next, found.kind, values);
    names.set(id, added.id);
    next = added.document;
  }
  return { document: next, ids: ids.map((id) => names.get(id)).filter((id) => id !== undefined) };
}

/** @param {Item} item @param {string} kind @param {number} dx @param {number} dy @returns {Item} */
function shifted(item, kind, dx, dy) {
  if (kind === "channel")
    return {
      ...item,
      points: (item.points ?? []).map((/** @type {Item} */ p) => ({
        ...p,
        x_mm: micro(p.x_mm + dx),
        y_mm: micro(p.y_mm + dy),
      })),
    };
  if (item.outline && kind !== "device") return { ...item, outline: outlineMoved(item.outline, dx, dy) };
  return { ...item, x_mm: micro((item.x_mm ?? 0) + dx), y_mm: micro((item.y_mm ?? 0) + dy) };
}

/**
 * A row of copies along a line: `count` in all, each `dx`, `dy` from the one before.
 * @param {PlateDocument} document @param {string[]} ids @param {number} count @param {number} dx @param {number} dy
 */
export function row(document, ids, count, dx, dy) {
  let next = document;
  /** @type {string[]} */
  const made = [];
  for (let i = 1; i < count; i += 1) {
    const copied = copyBy(next, ids, (item, kind) => shifted(item, kind, dx * i, dy * i));
    next = copied.document;
    made.push(...copied.ids);
  }
  return { document: next, ids: made };
}

/**
 * Mirror images across a line through a place: `axis` "x" swaps left and right, "y" swaps front and rear.
 * @param {PlateDocument} document @param {string[]} ids @param {"x"|"y"} axis @param {number} at mm
 */
export function mirror(document, ids, axis, at) {
  return copyBy(document, ids, (item, kind) => mirrored(item, kind, axis, at));
}

/** @param {Item} item @param {string} kind @param {"x"|"y"} axis @param {number} at @returns {Item} */
function mirrored(item, kind, axis, at) {
  const key = axis === "x" ? "x_mm" : "y_mm";
  const flip = (/** @type {Item} */ place) => ({ ...place, [key]: micro(2 * at - (place[key] ?? 0)) });
  const angle = (/** @type {number} */ deg) => micro((((axis === "x" ? 180 - deg : -deg) % 360) + 360) % 360);
  if (kind === "channel") return { ...item, points: (item.points ?? []).map(flip) };
  if (item.outline && kind !== "device") {
    const outline = item.outline;
    if (outline.shape === "polygon") {
      // Mirrored corners run the other way round, so each edge's arc goes with its other end.
      const turned = [...outline.vertices].reverse().map(flip);
      const bulges = [...outline.vertices]
        .reverse()
        .map((/** @type {Item} */ v, i, all) => all[(i + 1) % all.length].bulge ?? 0);
      return {
        ...item,
        outline: { ...outline, vertices: turned.map((v, i) => put(v, ["bulge"], bulges[i] || undefined)) },
      };
    }
    return {
      ...item,
      outline: { ...flip(outline), ...(outline.turn_deg ? { turn_deg: angle(outline.turn_deg) } : {}) },
    };
  }
  const turned = flip(item);
  if (turned.heading_deg !== undefined) turned.heading_deg = angle(turned.heading_deg);
  if (turned.turn_deg) turned.turn_deg = angle(turned.turn_deg);
  return turned;
}

/** How far an item reaches: left, front, right, rear, mm. @param {PlateDocument} document @param {string} id @returns {[number, number, number, number]|null} */
export function reachOf(document, id) {
  const found = find(document, id);
  const centre = centreOf(document, id);
  if (!found || !centre) return null;
  if (found.item.outline && found.kind !== "device") {
    const corners = outlineCorners(found.item.outline);
    return [
      Math.min(...corners.map((c) => c[0])),
      Math.min(...corners.map((c) => c[1])),
      Math.max(...corners.map((c) => c[0])),
      Math.max(...corners.map((c) => c[1])),
    ];
  }
  return [centre[0], centre[1], centre[0], centre[1]];
}

/** @typedef {"left"|"middle"|"right"|"front"|"centre"|"rear"} Side */

/** Items brought onto one line with the first of them. @param {PlateDocument} document @param {string[]} ids @param {Side} side */
export function align(document, ids, side) {
  const wanted = ids.length ? sideOf(document, ids[0], side) : null;
  if (wanted === null) return document;
  return ids.slice(1).reduce((next, id) => {
    const at = sideOf(next, id, side);
    if (at === null) return next;
    const along = ["left", "middle", "right"].includes(side);
    return move(next, [id], along ? wanted - at : 0, along ? 0 : wanted - at);
  }, document);
}

/** @param {PlateDocument} document @param {string} id @param {Side} side */
function sideOf(document, id, side) {
  const reach = reachOf(document, id);
  if (!reach) return null;
  const [left, front, right, rear] = reach;
  return { left, right, front, rear, middle: (left + right) / 2, centre: (front + rear) / 2 }[side];
}

/** Items spread evenly between the two outermost. @param {PlateDocument} document @param {string[]} ids @param {"x"|"y"} axis */
export function spread(document, ids, axis) {
  const at = axis === "x" ? 0 : 1;
  const placed = ids
    .map((id) => ({ id, centre: centreOf(document, id), found: find(document, id) }))
    .filter((p) => p.centre && p.found && movable(p.found.item, p.found.kind))
    .sort((a, b) => /** @type {Point} */ (a.centre)[at] - /** @type {Point} */ (b.centre)[at]);
  if (placed.length < 3) return document;
  const first = /** @type {Point} */ (placed[0].centre)[at];
  const last = /** @type {Point} */ (placed[placed.length - 1].centre)[at];
  return placed.reduce((next, { id, centre }, i) => {
    const shift = first + ((last - first) * i) / (placed.length - 1) - /** @type {Point} */ (centre)[at];
    return move(next, [id], axis === "x" ? shift : 0, axis === "y" ? shift : 0);
  }, document);
}
