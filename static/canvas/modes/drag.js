/** Items dragged: groups and what they hold come along, and the one under the pointer snaps. */

import { centreOf, find, itemsOf } from "../../model/document.js";
import { move, movable } from "../../model/edit.js";
import { followersOf } from "../../model/following.js";
import { marquee } from "./marquee.js";

/**
 * @typedef {import("../../types.js").Point} Point
 * @param {import("../pointer.js").Parts} parts @param {string[]} ids what lies under the pointer, nearest to hand first
 * @param {import("../pointer.js").Hand} from @returns {import("../pointer.js").Mode}
 */
export function dragItems(parts, ids, from) {
  const { store, actions, snapper, rerouter } = parts;
  rerouter.begin();
  const { document, selection } = store.get();
  const already = ids.find((id) => selection.includes(id));
  let id = already ?? ids[0];
  let centre = centreOf(document, id) ?? from.floor;
  if (!from.adding && !already) actions.select([id]);
  /** @type {{can: string[], without: Set<string>}} */
  let moving = { can: [], without: new Set() };
  return {
    on() {
      // With Shift a box is pulled, over whatever it begins.
      if (from.adding) return marquee(parts, from);
      if (!store.get().selection.includes(id)) actions.select([id]);
      moving = movingWith(document, actions.moving(store.get().selection));
      // What follows a thing lies over it: the hand means the thing.
      const leader = moving.can.length ? null : ids.find((other) => followersOf(document, other).includes(id) && movingWith(document, actions.moving([other])).can.length);
      if (leader) {
        [id, centre] = [leader, centreOf(document, leader) ?? from.floor];
        actions.select([id]);
        moving = movingWith(document, actions.moving([id]));
      }
      if (!moving.can.length) actions.stays(store.get().selection);
    },
    move({ floor, free }) {
      const { can, without } = moving;
      if (!can.length) return;
      /** @type {Point} */
      const wanted = [centre[0] + floor[0] - from.floor[0], centre[1] + floor[1] - from.floor[1]];
      const snap = snapper.snapped(wanted, { reach: from.reach, from: centre, without, free });
      store.set({ snap });
      const moved = move(document, can, snap.point[0] - centre[0], snap.point[1] - centre[1]);
      actions.draft(rerouter.along(moved, can, free));
    },
    drop() {
      const label = `Move ${store.get().selection.join(", ")}`;
      rerouter.settle(() => actions.keepDraft(label));
    },
    tap() {
      if (from.adding) actions.select([ids[0]], { adding: true });
      // A second click in the same place goes on to what lies beneath.
      else if (already && ids.length > 1) actions.select([ids[(ids.indexOf(id) + 1) % ids.length]]);
      else actions.select([id]);
    },
    off() {
      store.set({ snap: null });
      rerouter.forget();
    },
  };
}

/** What can move, and what must not be snapped to: channels that follow along would pull the snap after themselves. @param {import("../../types.js").PlateDocument} document @param {string[]} ids */
function movingWith(document, ids) {
  const can = ids.filter((id) => {
    const found = find(document, id);
    return found && movable(found.item, found.kind);
  });
  const following = itemsOf(document, "channel").filter(
    (c) => can.includes(c.start ?? "") || can.includes(c.end ?? ""),
  );
  return { can, without: new Set([...can, ...following.map((c) => c.id)]) };
}
