/** A box pulled over the drawing: all whose middle lies within is added to the selection. */

import { itemsWithin } from "../../geometry/hits.js";
import { centreOf } from "../../model/document.js";

/** @param {import("../pointer.js").Parts} parts @param {import("../pointer.js").Hand} from @returns {import("../pointer.js").Mode} */
export function marquee({ store, actions, snapper }, from) {
  return {
    move: ({ floor }) => store.set({ marquee: [from.floor, floor] }),
    drop({ floor }) {
      const { document, selection } = store.get();
      const ids = itemsWithin(document, from.floor, floor, (id) => centreOf(document, id), snapper.hidden());
      actions.select([...new Set([...selection, ...ids])]);
      actions.say(`${ids.length} selected.`);
    },
    off: () => store.set({ marquee: null }),
  };
}
