/**
 * Own parts and a plate: a part taken from an item, and a part put into a plate. Pure.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").Item} Item
 * @typedef {"device"|"board"|"fitting"|"tube"} PartKind
 * @typedef {{note?: string}} Values  as the format has them
 * @typedef {{kind: PartKind, name: string, assumed?: string, device?: Values, board?: Values, fitting?: object, tube?: object}} Part
 *   besides, the part of a document that its kind names
 */

import { find } from "./document.js";
import { add, dig, put, setValue } from "./edit.js";
import { boardFor, onBoard } from "./onboard.js";
import { abovePlate } from "./readysets.js";

/** What belongs to a place in one plate, and not to the part. */
const PLACE = ["id", "x_mm", "y_mm", "z_mm", "turn_deg", "roll_deg", "posture", "held_by", "slot", "locked"];
/** What belongs to one course of a tube. */
const COURSE = ["id", "name", "note", "locked", "start", "end", "length_mm", "points", "start_fitting", "end_fitting"];

/** @param {object} whole @param {string[]} keys */
const without = (whole, keys) => Object.fromEntries(Object.entries(whole).filter(([key]) => !keys.includes(key)));

/** Kinds of part that can be made of an item. @param {string} kind @returns {PartKind[]} */
export const partKinds = (kind) =>
  kind === "device" || kind === "board" ? [kind] : kind === "tube" || kind === "port" ? ["tube", "fitting"] : [];

/**
 * A part made of an item, or null when the item has nothing of the kind.
 * @param {PlateDocument} document @param {string} id @param {PartKind} kind @param {string} name @returns {Part|null}
 */
export function partOf(document, id, kind, name) {
  const found = find(document, id);
  if (!found) return null;
  const { item } = found;
  if (kind === "device" || kind === "board")
    return { kind, name, assumed: (item.note ?? "").slice(0, 1000), [kind]: { id: kind === "device" ? "D1" : "B1", ...without(item, PLACE) } };
  const tube = found.kind === "port" ? item.tube : item;
  if (!tube) return null;
  if (kind === "tube") return { kind, name, tube: without(tube, COURSE) };
  const fitting = "start_fitting" in tube ? tube.start_fitting : null;
  return fitting ? { kind, name, fitting } : null;
}

/**
 * A part put into a plate: a device onto the board that is selected, or about a place; a board about a
 * place; a tube or a fitting to what is selected.
 * @param {PlateDocument} document @param {Part} part @param {Point} at mm @param {string[]} selection
 * @returns {{document: PlateDocument, ids: string[]}|{problem: string}}
 */
export function withPart(document, part, [x, y], selection) {
  const { kind, name } = part;
  if (kind === "device" || kind === "board") {
    const own = without(part[kind] ?? {}, PLACE);
    const note = own.note || part.assumed || undefined;
    const board = kind === "device" ? boardFor(document, selection) : null;
    const place = board ? onBoard(board) : { x_mm: x, y_mm: y, z_mm: abovePlate(document) };
    const values = { name, ...own, ...place, ...(note ? { note } : {}) };
    const made = add(document, kind, values);
    return { document: made.document, ids: [made.id] };
  }
  const ids = selection.filter((id) => ["tube", "port"].includes(find(document, id)?.kind ?? ""));
  if (!ids.length) return { problem: `Select the tubes, or the ports they drop to, that “${name}” is for.` };
  return { document: ids.reduce((next, id) => fitted(next, id, part), document), ids };
}

/** @param {PlateDocument} document @param {string} id @param {Part} part */
function fitted(document, id, { kind, tube, fitting }) {
  const at = find(document, id)?.kind === "port" ? ["tube"] : [];
  const values =
    kind === "tube" ? Object.entries(without(tube ?? {}, COURSE)) : ["start_fitting", "end_fitting"].map((key) => [key, fitting]);
  // The part's own sizes alone count: what an older tube said of them goes.
  const cleared = kind === "tube" ? ["size", "material", "inner_diameter_mm", "outer_diameter_mm", "bend_radius_mm", "stock_mm"] : [];
  const bare = cleared.reduce((next, key) => (has(next, id, [...at, key]) ? setValue(next, id, [...at, key], null) : next), document);
  return values.reduce((next, [key, value]) => setValue(next, id, [...at, String(key)], value), bare);
}

/** @param {PlateDocument} document @param {string} id @param {string[]} path */
const has = (document, id, path) =>
  dig(find(document, id)?.item, path) !== undefined;

/** A part under another name, to be kept. @param {Part} part @param {string} name @returns {Part} */
export const renamed = (part, name) => put(part, ["name"], name);
