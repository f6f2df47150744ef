/**
 * What a drag in an elevation changes: the server says by pointers how much each number follows a mm. Pure.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").ItemMove} ItemMove
 */

import { find } from "./document.js";
import { dig, micro, pointerPath, put } from "./edit.js";

/** Numbers that are never below 0: a plate and an obstacle stand on the floor at the lowest. */
const NOT_BELOW_FLOOR = /\/(bottom_mm|height_mm)$|^\/plate\/z_mm$/;

/** Nothing that stands on the floor is made lower than this by hand, mm. */
const LEAST_HEIGHT = 0.5;

/** @param {PlateDocument} document @param {string} pointer */
const valueAt = (document, pointer) => Number(dig(document, pointerPath(document, pointer)) ?? 0);

/** As far up as asked, or down until something would be below the floor, mm. @param {PlateDocument} document @param {ItemMove} move @param {number} up */
export function riseAllowed(document, move, up) {
  return move.up
    .filter(({ pointer }) => NOT_BELOW_FLOOR.test(pointer))
    .reduce((least, { pointer }) => Math.max(least, lowest(document, move, pointer) - valueAt(document, pointer)), up);
}

/** An obstacle whose top is pulled down keeps some height above its underside. @param {PlateDocument} document @param {ItemMove} move @param {string} pointer */
function lowest(document, move, pointer) {
  if (move.up.length > 1 || !pointer.endsWith("/height_mm")) return 0;
  const bottom = pointer.replace(/height_mm$/, "bottom_mm");
  return pointer.startsWith("/floor/") ? valueAt(document, bottom) + LEAST_HEIGHT : 0;
}

/** The document with a thing moved in an elevation. @param {PlateDocument} document @param {ItemMove} move @param {number} right mm @param {number} up mm @returns {PlateDocument} */
export function elevationMoved(document, move, right, up) {
  const rise = riseAllowed(document, move, up);
  const shift = (/** @type {PlateDocument} */ d, /** @type {ItemMove["up"]} */ values, /** @type {number} */ by) =>
    by
      ? values.reduce(
          (next, { pointer, per_mm }) =>
            put(next, pointerPath(next, pointer), micro(valueAt(next, pointer) + per_mm * by)),
          d,
        )
      : d;
  return shift(shift(document, move.up, rise), move.right, right);
}

/**
 * What moves by itself of what is to be moved: what something else among it holds comes along with that, and is not moved twice.
 * @param {PlateDocument} document @param {string[]} ids @returns {string[]}
 */
export function leading(document, ids) {
  return ids.filter((id) => {
    for (let held = find(document, id)?.item.held_by, left = HOLDERS; held && left; left -= 1) {
      if (ids.includes(held)) return false;
      held = find(document, held)?.item.held_by;
    }
    return true;
  });
}

/** More holders above each other than this are none. */
const HOLDERS = 12;

/** What a hand means, mm: to half a millimetre, or to a tenth when it is free. @param {number} value @param {boolean} free */
export const meant = (value, free) => (free ? Math.round(value * 10) / 10 : Math.round(value * 2) / 2);

/** A drag keeps to the way that it began with: straight up and down, or level. @param {number} right @param {number} up @param {boolean} both @returns {import("../types.js").Point} */
export const oneWay = (right, up, both) => (both ? [right, up] : Math.abs(up) >= Math.abs(right) ? [0, up] : [right, 0]);
