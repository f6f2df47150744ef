/** What a deletion takes along, in words. Pure. */

import { everyItem } from "./document.js";

/** @typedef {import("../types.js").PlateDocument} PlateDocument */

/** @param {number} count @param {string} one @param {string} [several] */
const some = (count, one, several = `${one}s`) => `${count} ${count === 1 ? one : several}`;

/**
 * What is gone besides the items that were deleted; empty when nothing is.
 * @param {PlateDocument} before @param {PlateDocument} after @param {string[]} ids those that were deleted
 */
export function takenAlong(before, after, ids) {
  const left = new Set(everyItem(after).map(({ item }) => item.id));
  const also = everyItem(before)
    .map(({ item }) => item.id)
    .filter((id) => !left.has(id) && !ids.includes(id));
  /** @type {[number, string, string?][]} */
  const counts = [
    [(before.loop?.connections ?? []).length - (after.loop?.connections ?? []).length, "connection"],
    [(before.fit_readings ?? []).length - (after.fit_readings ?? []).length, "reading of the test piece", "readings of the test piece"],
    [(before.landings ?? []).length - (after.landings ?? []).length, "landing"],
    [(before.ties ?? []).length - (after.ties ?? []).length, "tie to the survey", "ties to the survey"],
  ];
  const lost = counts.filter(([count]) => count > 0).map(([count, one, several]) => some(count, one, several));
  const loose = (before.ports ?? []).filter((port) => port.serves && left.has(port.id)).length - (after.ports ?? []).filter((port) => port.serves).length;
  const members = (before.groups ?? []).filter(({ id }) => ids.includes(id)).flatMap((group) => group.members ?? []).filter((id) => left.has(id));
  const followed = everyItem(before).filter(({ item }) => [item.follows?.item, item.cable?.start, item.cable?.end].some((id) => id && ids.includes(id)) && left.has(item.id)).map(({ item }) => item.id);
  return [
    members.length ? `Its members stay: ${members.join(", ")}.` : "",
    followed.length ? `What followed it stays: ${followed.join(", ")}.` : "",
    also.length || lost.length ? `With it went ${[...also, ...lost].join(", ")}.` : "",
    loose > 0 ? `${some(loose, "port")} of the plate ${loose === 1 ? "serves" : "serve"} nothing now.` : "",
  ]
    .filter(Boolean)
    .join(" ");
}
