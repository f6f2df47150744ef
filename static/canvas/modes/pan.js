/** Moving the view: dragged, pinched, or by the wheel. */

import { distance } from "../../geometry/path.js";
import { panned, zoomed } from "../../geometry/view.js";

/**
 * @typedef {import("../../types.js").Point} Point
 * @typedef {import("../../types.js").Store} Store
 * @typedef {import("../pointer.js").Mode} Mode
 */

/** The view follows the pointer; a tap on empty floor selects nothing, one on the plate's or the floor's edge selects that. @param {import("../pointer.js").Parts} parts @param {import("../pointer.js").Hand} from @param {string|null} [whole] @returns {Mode} */
export function pan({ store, actions }, from, whole = null) {
  const { view } = store.get();
  return {
    view: true,
    move: ({ at }) => store.set({ view: panned(view, at[0] - from.at[0], at[1] - from.at[1]) }),
    tap: () => actions.select(whole ? [whole] : []),
  };
}

/** Two fingers: the floor keeps to both. @param {{store: Store}} parts @param {Map<number, Point>} fingers @returns {Mode} */
export function pinch({ store }, fingers) {
  const { view } = store.get();
  const [a0, b0] = [...fingers.values()];
  const middle = middleOf(a0, b0);
  return {
    view: true,
    move() {
      const [a, b] = [...fingers.values()];
      if (!a || !b) return;
      const now = middleOf(a, b);
      const factor = distance(a, b) / Math.max(distance(a0, b0), 1);
      store.set({ view: panned(zoomed(view, factor, middle), now[0] - middle[0], now[1] - middle[1]) });
    },
  };
}

/** @param {Point} a @param {Point} b @returns {Point} */
const middleOf = (a, b) => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];

/** Pixels for each step of the wheel where a browser counts in lines or in pages. */
const WHEEL_PX = [1, 16, 400];

/** @param {Store} store @param {WheelEvent} event @param {Point} at */
export function wheel(store, event, at) {
  event.preventDefault();
  const { view } = store.get();
  if (event.shiftKey && !event.ctrlKey) {
    store.set({ view: panned(view, -(event.deltaX || event.deltaY), 0) });
    return;
  }
  const turned = event.deltaY * WHEEL_PX[event.deltaMode] * (event.ctrlKey ? 4 : 1);
  store.set({ view: zoomed(view, Math.exp(-turned / 500), at) });
}
