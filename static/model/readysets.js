/**
 * Usual things that stand in a case, each in one choice: what has to be turned, rolled and held is done. Pure.
 *
 * A board's origin is the corner of rear edge and connector side; u runs along the rear edge, v away from it, w out of the
 * component side. In a slot, u runs along the slot and v off the holder.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Point} Point
 * @typedef {{id: string, title: string, words: string}} ReadySet
 * @typedef {Omit<import("../types.js").Kinds["board"], "id">} NewBoard
 */

import { DEFAULTS } from "../format.js";
import { add } from "./edit.js";

/** ATX, mm: 12 by 9.6 inches. */
const [WIDE, DEEP] = [304.8, 243.84];
/** A slot's board and a card of two slots: usual sizes, to be changed by number (common practice, no source). */
/** @satisfies {NewBoard} */
const RISER = { role: "riser", width_mm: 18, depth_mm: 90, parts_height_mm: 12, slots: 1, first_slot_mm: 9 };
/** @satisfies {NewBoard} */
const CARD = { role: "card", width_mm: 240, depth_mm: 112, parts_height_mm: 38 };
/** Height above the floor, mm, at the least; so much below a board's face is its own sheet. */
const [ABOVE, SHEET] = [60, 2];

/**
 * Where a thing is put in the air: over the plate's fittings and their tubes' straight ends, so that nothing is in the way
 * from the start. mm. @param {PlateDocument} document
 */
export function abovePlate(document) {
  const { z_mm: z = 0, body_thickness_mm: body, lid_thickness_mm: lid } = document.plate;
  return Math.max(ABOVE, 5 * Math.ceil((z + body + lid + (document.loop?.fitting_straight_mm ?? DEFAULTS.Loop.fitting_straight_mm) + SHEET) / 5));
}

/** @type {readonly ReadySet[]} */
export const READY_SETS = Object.freeze([
  { id: "board-flat", title: "Board, flat", words: "Component side up, rear edge to the rear of the case." },
  { id: "board-edge", title: "Board, on edge", words: "Rear edge down, component side to the front of the case." },
  { id: "card-edge", title: "Card on riser, on edge", words: "The riser lies flat, the card stands in it, front to rear." },
  { id: "card-flat", title: "Card on riser, flat", words: "The riser is on edge, the card lies in it, component side up." },
]);

/**
 * A ready set about a place. @param {PlateDocument} document @param {string} set @param {Point} at mm
 * @returns {{document: PlateDocument, ids: string[]}} the holder first
 */
export function addReady(document, set, [x, y]) {
  // The card is longer than its riser: its middle is put at the place, so that it keeps within the case where there is room.
  /** @type {NewBoard} */
  const riser = { ...RISER, x_mm: x - RISER.width_mm / 2, y_mm: y - CARD.width_mm / 2, z_mm: abovePlate(document) };
  /** @type {NewBoard} */
  const board = { pattern: "ATX", z_mm: abovePlate(document) };
  switch (set) {
    case "board-flat":
      return alone(document, { ...board, x_mm: x + WIDE / 2, y_mm: y + DEEP / 2, turn_deg: 180 });
    case "board-edge":
      return alone(document, { ...board, x_mm: x - WIDE / 2, y_mm: y, posture: "standing" });
    case "card-edge":
      return withCard(document, riser);
    case "card-flat":
      return withCard(document, { ...riser, posture: "standing", roll_deg: 90, x_mm: x + CARD.width_mm / 2, y_mm: y + CARD.depth_mm / 2 });
    default:
      throw new Error(`no ready set is called ${set}`);
  }
}

/** @param {PlateDocument} document @param {NewBoard} board */
function alone(document, board) {
  const made = add(document, "board", board);
  return { document: made.document, ids: [made.id] };
}

/** @param {PlateDocument} document @param {NewBoard} riser */
function withCard(document, riser) {
  const held = add(document, "board", riser);
  const made = add(held.document, "board", { ...CARD, held_by: held.id, slot: 1 });
  return { document: made.document, ids: [held.id, made.id] };
}
