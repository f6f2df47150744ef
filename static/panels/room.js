/**
 * The room that the drawing has, and what of the plan is in it. A part that opens beside the drawing takes some of it: what
 * was shown whole is shown whole again when the user opened it; while it opens by itself, for what was selected, the
 * drawing keeps its place, and moves only as far as it must to keep what was selected in sight; it goes back with the part.
 */

import { panned, shown } from "../geometry/view.js";
import { centreOf } from "../model/document.js";

/** So near to the edge what was selected is no longer in sight, px. */
const EDGE = 48;

/** @typedef {import("../types.js").View} View */

/**
 * @param {{store: import("../types.js").Store, svg: SVGSVGElement, fit: () => void, isFitted: () => boolean, isUnseen: () => boolean}} parts
 *   `isFitted`: whether the view is the one that showed everything; `isUnseen`: whether nothing was shown yet
 */
export function createRoom({ store, svg, fit, isFitted, isUnseen }) {
  let windowSize = "";
  let { margin } = store.get();
  let held = false;
  let smaller = false;
  /** Where the drawing stood before it was moved aside, and where it stands since. @type {{from: View, to: View}|null} */
  let aside = null;

  /** After a press has ended: under a hand nothing moves. */
  function keepInSight() {
    if (held || !smaller) return;
    smaller = false;
    const { document, selection, view, size, draft, tool } = store.get();
    const at = document && selection.length === 1 && !draft && !tool ? centreOf(document, selection[0]) : null;
    if (!at) return;
    const next = shown(view, at, size, EDGE);
    if (next.x === view.x) return;
    aside = { from: view, to: panned(view, next.x - view.x, 0) };
    store.set({ view: aside.to });
  }

  new ResizeObserver(([entry]) => {
    const { width, height } = entry.contentRect;
    if (!width || !height) return;
    const { size, view, margin: wanted } = store.get();
    const now = `${window.innerWidth} ${window.innerHeight}`;
    const resized = now !== windowSize;
    // Elevations and sections open below the plan, and only when they are asked for.
    const byHand = wanted !== margin || height !== size[1];
    windowSize = now;
    margin = wanted;
    store.set({ size: [width, height] });
    if (isUnseen() || (isFitted() && (resized || byHand))) fit();
    // A view chosen by hand keeps its middle.
    else if (resized) store.set({ view: panned(view, (width - size[0]) / 2, (height - size[1]) / 2) });
    else if (width < size[0]) {
      smaller = true;
      keepInSight();
    } else {
      if (aside && view === aside.to) store.set({ view: aside.from });
      aside = null;
    }
  }).observe(svg);

  svg.addEventListener("pointerdown", () => {
    held = true;
  });
  for (const end of ["pointerup", "pointercancel"])
    window.addEventListener(end, () => {
      if (!held) return;
      held = false;
      requestAnimationFrame(() => requestAnimationFrame(keepInSight));
    });
}
