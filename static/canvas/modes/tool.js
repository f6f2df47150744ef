/** A tool in use: it is told of the place where the pointer is let go. */

import { pan } from "./pan.js";

/** @param {import("../pointer.js").Parts} parts @param {import("../pointer.js").Hand} from @returns {import("../pointer.js").Mode} */
export function useTool(parts, from) {
  const { store, snapper, tools } = parts;
  /** @param {import("../pointer.js").Hand} hand */
  const rest = ({ floor, free }) => snapper.snapped(floor, { reach: from.reach, from: snapper.lastPlace(), free });
  /** @param {import("../pointer.js").Hand} hand */
  const use = (hand) => {
    const snap = rest(hand);
    store.set({ snap });
    tools.at(snap.point, { keep: hand.adding, reach: from.reach });
  };
  return {
    // A finger has no second button to move the view with.
    on: () => (from.touch ? pan(parts, from) : undefined),
    move: (hand) => store.set({ snap: rest(hand) }),
    drop: use,
    tap: use,
  };
}
