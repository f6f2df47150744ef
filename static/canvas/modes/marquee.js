/** A box pulled over the drawing: all that lies wholly within is added to the selection. */

import { selectWithin } from "../tools.js";

/** @param {import("../pointer.js").Parts} parts @param {import("../pointer.js").Hand} from @returns {import("../pointer.js").Mode} */
export function marquee({ store, actions, stage }, from) {
  return {
    move: ({ floor }) => store.set({ marquee: [from.floor, floor] }),
    drop: ({ floor }) => selectWithin({ store, actions, stage }, from.floor, floor),
    off: () => store.set({ marquee: null }),
  };
}
