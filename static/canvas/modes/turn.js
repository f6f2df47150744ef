/** The handle that turns what is selected: in steps of 15 degrees where it comes near one, freely with Alt. */

import { pivotOf, turn } from "../../model/turning.js";

/** Every so many degrees a turn comes to rest, when it is so near. */
const STEP = 15;
const NEAR = 3;

/** The angle that a hand means, degrees. @param {number} deg @param {boolean} free */
export function turnMeant(deg, free) {
  const whole = ((deg % 360) + 540) % 360 - 180;
  const step = Math.round(whole / STEP) * STEP;
  return !free && Math.abs(whole - step) <= NEAR ? step : Math.round(whole * 10) / 10;
}

/** @param {import("../pointer.js").Parts} parts @returns {import("../pointer.js").Mode} */
export function dragTurn({ store, actions, stage }) {
  const { document, selection } = store.get();
  const pivot = pivotOf(document, selection, stage.middleOf);
  if (!pivot) return {};
  const ids = actions.moving(selection);
  return {
    on() {
      if (!ids.length) actions.stays(selection);
    },
    move({ floor, free }) {
      // The handle stands to the rear: from there the turn is counted.
      const angle = (Math.atan2(floor[1] - pivot[1], floor[0] - pivot[0]) * 180) / Math.PI - 90;
      const deg = turnMeant(angle, free);
      store.set({ turning: { pivot, at: floor, deg } });
      actions.draft(turn(document, ids, pivot, deg));
    },
    drop: () => actions.keepDraft(`Turn ${selection.join(", ")}`),
    off: () => store.set({ turning: null }),
  };
}
