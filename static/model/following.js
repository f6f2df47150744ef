/**
 * Cutouts, pockets, keep-outs and screw holes that follow a thing, and cable slots: which of them move along with it. Pure; their shape
 * is the server's to work out.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 */

import { isLed, joinedBy } from "./cableslots.js";
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

/** What an item goes by, if it does not stand by itself. @param {import("../types.js").Item} item @returns {string[]} */
const leadersOf = (item) => (item.follows ? [item.follows.item] : isLed(item) ? joinedBy(item) : []);

/** The ids, and those of what follows them or what they hold; what follows something that stays, stays too. @param {PlateDocument} document @param {string[]} ids */
export function withFollowers(document, ids) {
  const free = ids.filter((id) => {
    const found = find(document, id);
    return found && movable(found.item, found.kind);
  });
  const leaders = withHeld(document, free);
  const followers = everyItem(document).filter(({ item }) => leadersOf(item).length).sort((a, b) => Number(isLed(a.item)) - Number(isLed(b.item)));
  /** @type {Set<string>} */
  const stay = new Set();
  // Slots come last: what they join may itself follow. One moves along when all that it joins does.
  for (const { item } of followers)
    if (leadersOf(item).every((id) => leaders.has(id) && !stay.has(id))) leaders.add(item.id);
    else stay.add(item.id);
  const along = followers.map(({ item }) => item.id).filter((id) => !stay.has(id) && !ids.includes(id));
  return along.length || ids.some((id) => stay.has(id)) ? [...ids.filter((id) => !stay.has(id)), ...along] : ids;
}

/** Of these items those that are changed by themselves: what goes by something that is not among them stays. @param {PlateDocument} document @param {string[]} ids */
export const byThemselves = (document, ids) =>
  ids.filter((id) => {
    const item = find(document, id)?.item;
    return !item || leadersOf(item).every((leader) => ids.includes(leader));
  });

/** Why an item that follows another one is not moved by itself; "" when it may be. @param {PlateDocument} document @param {string[]} ids */
export function whyItStays(document, ids) {
  const found = ids.flatMap((id) => find(document, id)?.item ?? []).find((item) => leadersOf(item).length);
  const leader = found?.follows?.item;
  if (found && isLed(found)) return `${found.id} is a cable slot: move what it joins (${joinedBy(found).join(", ")}) or its corners, or press “Stop following” in its panel.`;
  return found && leader ? `${found.id} follows ${leader}: move ${leader}, or press “Stop following” in the panel of ${found.id}.` : "";
}

/** Items that follow another one. @param {PlateDocument} document @param {string} id */
export const followersOf = (document, id) =>
  everyItem(document)
    .filter(({ item }) => leadersOf(item).includes(id))
    .map(({ item }) => item.id);

/** Whether anything that is followed, or what holds it, is not as it was. @param {PlateDocument} before @param {PlateDocument} after */
export function leadersChanged(before, after) {
  const slots = (after.pockets ?? []).filter(isLed);
  // A slot over the edge goes by the plate's outline, and each by its own corners and cable.
  if (slots.some(({ cable }) => !cable?.end) && before.plate?.outline !== after.plate?.outline) return true;
  if (slots.some(({ id, cable }) => find(before, id)?.item.cable !== cable)) return true;
  const leaders = new Set(everyItem(after).flatMap(({ item }) => leadersOf(item)));
  for (const start of leaders)
    for (let id = /** @type {string|null|undefined} */ (start), left = 12; id && left; left -= 1) {
      const [was, is] = [find(before, id)?.item, find(after, id)?.item];
      if (was !== is) return true;
      id = is?.held_by;
    }
  return false;
}
