/**
 * Copies in a grid and in a ring. Pure.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Point} Point
 * @typedef {{document: PlateDocument, ids: string[]}} Made  the document, and the ids of the copies
 */

import { copy } from "./arrange.js";
import { turn } from "./turning.js";

/** Columns to the right and rows to the rear; the first place is that of the items themselves. @param {PlateDocument} document @param {string[]} ids @param {number} columns @param {number} rows @param {number} dx mm @param {number} dy mm @returns {Made} */
export function gridOf(document, ids, columns, rows, dx, dy) {
  let next = document;
  /** @type {string[]} */
  const made = [];
  for (let row = 0; row < rows; row += 1)
    for (let column = 0; column < columns; column += 1) {
      if (!row && !column) continue;
      const copied = copy(next, ids, column * dx, row * dy);
      next = copied.document;
      made.push(...copied.ids);
    }
  return { document: next, ids: made };
}

/**
 * Copies turned about a place: over a full circle all spaces are alike; over a part of one the last stands at its end.
 * @param {PlateDocument} document @param {string[]} ids @param {number} count the items themselves included
 * @param {Point} about mm @param {number} span degrees, counter-clockwise @returns {Made}
 */
export function ringOf(document, ids, count, about, span) {
  const step = Math.abs(span) >= 360 ? span / count : span / Math.max(1, count - 1);
  let next = document;
  /** @type {string[]} */
  const made = [];
  for (let i = 1; i < count; i += 1) {
    const copied = copy(next, ids, 0, 0);
    next = turn(copied.document, copied.ids, about, i * step);
    made.push(...copied.ids);
  }
  return { document: next, ids: made };
}
