/** Lid screws as holes of the plate: which there are, what they become when they are placed again, which stand in the way. Pure. */

import { add, put, remove } from "./edit.js";

/**
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Item} Item
 */

/** @param {PlateDocument} document @returns {Item[]} */
export const lidScrews = (document) => (document.holes ?? []).filter((hole) => hole.use === "lid");

/** The plate without its lid screws but those that are locked. @param {PlateDocument} document @returns {PlateDocument} */
export function withoutLoose(document) {
  const ids = loose(document).map((hole) => hole.id);
  return ids.length ? remove(document, ids) : document;
}

/** @param {PlateDocument} document */
const loose = (document) => lidScrews(document).filter((hole) => !hole.locked);

/** The screws become holes of the plate, with the thread and the grooves that they were designed for. @param {PlateDocument} document @param {import("../types.js").ScrewDesign} designed @returns {PlateDocument} */
export function withScrews(document, { holes, screw, grooves }) {
  const held = holes.reduce((next, { id: _, ...hole }) => add(next, "hole", hole).document, document);
  return put(put(held, ["seal", "screw"], screw || document.seal?.screw), ["seal", "grooves"], grooves);
}

/**
 * Loose lid screws that something else has no room for, and what that is: they stay where they are when it is moved or laid
 * again. @param {PlateDocument} document @param {readonly import("../types.js").Finding[]} findings
 * @returns {{screws: string[], of: string[]}}
 */
export function inTheWay(document, findings) {
  const ids = new Set(loose(document).map((hole) => hole.id));
  const met = findings.filter(
    ({ level, accepted, items }) =>
      level === "error" && !accepted && items.some((id) => ids.has(id)) && items.some((id) => !ids.has(id)),
  );
  const named = [...new Set(met.flatMap(({ items }) => items))];
  return { screws: named.filter((id) => ids.has(id)), of: named.filter((id) => !ids.has(id)) };
}
