/** A dimension line taken hold of: it moves off what it measures, or nearer; a tap selects it. */

import { dimensionOf, pulledOff } from "../../model/dimensions.js";
import { setValue } from "../../model/edit.js";
import { marquee } from "./marquee.js";

/** @param {import("../pointer.js").Parts} parts @param {string} id @param {import("../pointer.js").Hand} from @returns {import("../pointer.js").Mode} */
export function dragDimension(parts, id, from) {
  const { store, actions } = parts;
  const { document, answer } = store.get();
  const item = dimensionOf(document, id);
  const drawn = answer?.drawing?.dimensions?.[id];
  return {
    on() {
      if (from.adding) return marquee(parts, from);
      actions.select([id]);
      if (item?.locked) actions.say("It stays where it is: it is locked.");
    },
    move({ floor }) {
      if (!item || item.locked || !drawn?.first || !drawn.second) return;
      const off = pulledOff(item, drawn.first, drawn.second, floor[0] - from.floor[0], floor[1] - from.floor[1]);
      if (off !== store.get().draft?.dimensions?.find((one) => one.id === id)?.offset_mm)
        actions.draft(setValue(document, id, ["offset_mm"], off));
    },
    drop: () => actions.keepDraft(`Move the dimension line ${id}`),
    tap: () => actions.select([id], { adding: from.adding }),
  };
}
