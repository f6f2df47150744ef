/**
 * A device that sits on a board or a card: held by it, flat on its component side. Pure.
 *
 * A board's own measure: u along the rear edge from the connector side, v away from that edge, w off the component side.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Kinds} Kinds
 */

import { BOARD_MM } from "../format.js";
import { find } from "./document.js";

/** Off the component side, mm: the socket or the chip that a block sits on; usual, to be changed by number (common practice, no source). */
const OFF_MM = 2;

/** The board that something new goes onto: the one that is selected, if a device can sit on it. @param {PlateDocument} document @param {string[]} selection @returns {Kinds["board"]|null} */
export function boardFor(document, selection) {
  const found = selection.length === 1 ? find(document, selection[0]) : null;
  if (found?.kind !== "board") return null;
  const board = /** @type {Kinds["board"]} */ (found.item);
  return board.role === "riser" ? null : board;
}

/** How a device lies on the middle of a board: what it says of its place. @param {Kinds["board"]} board */
export function onBoard(board) {
  const [wide, deep] = BOARD_MM[board.pattern ?? ""] ?? [0, 0];
  return {
    held_by: board.id,
    x_mm: (board.width_mm ?? wide) / 2,
    y_mm: (board.depth_mm ?? deep) / 2,
    z_mm: OFF_MM,
  };
}

/** A held device laid flat on its board. @template {import("../types.js").Item} T @param {T} item @param {Kinds["board"]} board @returns {T} */
export function laidFlat(item, board) {
  const { posture: _posture, turn_deg: _turn, roll_deg: _roll, ...rest } = item;
  return /** @type {T} */ ({ ...rest, ...onBoard(board) });
}

/** Whether a held device lies flat on its holder. @param {{posture?: string, turn_deg?: number, roll_deg?: number}} device */
export const liesFlat = ({ posture, turn_deg: turn, roll_deg: roll }) => posture !== "standing" && !turn && !roll;
