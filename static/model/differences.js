/** In what two documents differ, in the words of the page. Pure. */

/** @typedef {import("../types.js").PlateDocument} PlateDocument */

import { everyItem } from "./document.js";
import { dig } from "./edit.js";

/** @param {PlateDocument} a @param {PlateDocument} b @returns {string[]} ids of items, and names of parts, that are not the same */
export function differences(a, b) {
  const found = [];
  const [left, right] = [a, b].map((d) => new Map(everyItem(d).map(({ item }) => [item.id, JSON.stringify(item)])));
  for (const [id, text] of left) if (right.get(id) !== text) found.push(id);
  for (const id of right.keys()) if (!left.has(id)) found.push(id);
  for (const [key, words] of Object.entries({
    name: "the name",
    plate: "the plate",
    survey: "the survey",
    loop: "the loop",
    seal: "the seal",
    shop: "the shop",
    test_piece: "the test piece",
    fit_readings: "the fit readings",
    limits: "the limits",
  })) {
    if (JSON.stringify(dig(a, [key])) !== JSON.stringify(dig(b, [key]))) found.push(words);
  }
  if (JSON.stringify(a.floor.outline) !== JSON.stringify(b.floor.outline)) found.push("the floor");
  return found;
}
