/** A ghost of the test piece dragged to where its port should have been; letting go writes the fit reading. */

import { find } from "../../model/document.js";
import { withReading } from "../../model/fitreadings.js";

/** A reading as a hand can tell it: to a tenth of a millimetre. @param {number} dx @param {number} dy @returns {import("../../types.js").Point} */
export const handReading = (dx, dy) => [Math.round(dx * 10) / 10 + 0, Math.round(dy * 10) / 10 + 0];

/** @param {import("../pointer.js").Parts} parts @param {string} port @param {import("../pointer.js").Hand} from @returns {import("../pointer.js").Mode} */
export function dragGhost({ store, actions }, port, from) {
  const { document } = store.get();
  const old = (document.fit_readings ?? []).find((reading) => reading.port === port);
  const [dx, dy] = [old?.dx_mm ?? 0, old?.dy_mm ?? 0];
  const write = () => {
    if (!find(store.get().document, port)) return;
    const reading = store.get().ghost?.reading ?? [dx, dy];
    actions.edit(`Fit reading of ${port}`, (d) => withReading(d, port, { dx_mm: reading[0], dy_mm: reading[1] }));
  };
  return {
    move({ floor }) {
      const reading = handReading(dx + floor[0] - from.floor[0], dy + floor[1] - from.floor[1]);
      store.set({ ghost: { port, reading } });
    },
    drop: write,
    // A ghost that is only touched says that its port is right where it is.
    tap: write,
    off: () => store.set({ ghost: null }),
  };
}
