/**
 * Cutouts, pockets, keep-outs and screw holes that follow a thing: which of them move along with it. Pure; their shape
 * is the server's to work out.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 */

import { everyItem, find, itemsOf } from "./document.js";
import { movable } from "./edit.js";

/** What stands in a holder, directly or by way of another, and the holders themselves. @param {PlateDocument} document @param {string[]} ids @returns {Set<string>} */
export function withHeld(document, ids) {
  const found = new Set(ids);
  const placed = [...itemsOf(document, "board"), ...itemsOf(document, "device")];
  for (let before = -1; before < found.size; ) {
    before = found.size;
    for (const { id, held_by } of placed) if (held_by && found.has(held_by)) found.add(id);
  }
  return found;
}

/** The ids, and those of what follows them or what they hold; what follows something that stays, stays too. @param {PlateDocument} document @param {string[]} ids */
export function withFollowers(document, ids) {
  const free = ids.filter((id) => {
    const found = find(document, id);
    return found && movable(found.item, found.kind);
  });
  const leaders = withHeld(document, free);
  const followers = everyItem(document).filter(({ item }) => item.follows);
  const stay = new Set(followers.filter(({ item }) => !leaders.has(item.follows?.item ?? "")).map(({ item }) => item.id));
  const along = followers.map(({ item }) => item.id).filter((id) => !stay.has(id) && !ids.includes(id));
  return along.length || ids.some((id) => stay.has(id)) ? [...ids.filter((id) => !stay.has(id)), ...along] : ids;
}

/** Why an item that follows another one is not moved by itself; "" when it may be. @param {PlateDocument} document @param {string[]} ids */
export function whyItStays(document, ids) {
  const found = ids.map((id) => find(document, id)?.item).find((item) => item?.follows);
  const leader = found?.follows?.item;
  return found && leader ? `${found.id} follows ${leader}: move ${leader}, or press “Stop following” in the panel of ${found.id}.` : "";
}

/** Items that follow another one. @param {PlateDocument} document @param {string} id */
export const followersOf = (document, id) =>
  everyItem(document)
    .filter(({ item }) => item.follows?.item === id)
    .map(({ item }) => item.id);

/** Whether anything that is followed, or what holds it, is not as it was. @param {PlateDocument} before @param {PlateDocument} after */
export function leadersChanged(before, after) {
  const leaders = new Set(everyItem(after).flatMap(({ item }) => (item.follows ? [item.follows.item] : [])));
  for (const start of leaders)
    for (let id = /** @type {string|null|undefined} */ (start), left = 12; id && left; left -= 1) {
      const [was, is] = [find(before, id)?.item, find(after, id)?.item];
      if (was !== is) return true;
      id = is?.held_by;
    }
  return false;
}
