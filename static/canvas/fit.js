/** The view that has everything on the screen, and whether it is the one that is shown. */

import { fitted } from "../geometry/view.js";

/** @param {{store: import("../types.js").Store}} parts */
export function createFit({ store }) {
  /** The view in which everything was last shown. @type {import("../types.js").View|null} */
  let last = null;
  /** Whether the view waits for the first drawing, which says how far everything reaches. */
  let unseen = true;

  /** Everything on the screen. */
  function fit() {
    const { document, size, answer } = store.get();
    if (!document) return;
    const { outline } = document.floor;
    const box = answer?.drawing?.box;
    if (box) {
      last = fitted(box, size, 16);
      store.set({ view: last });
    } else if (outline.shape === "rectangle") {
      const [w, d] = [outline.width_mm / 2, outline.depth_mm / 2];
      const { x_mm: x, y_mm: y } = outline;
      store.set({ view: fitted([x - w, y - d, x + w, y + d], size, 16) });
    }
  }

  return {
    fit,
    isFitted: () => store.get().view === last,
    isUnseen: () => unseen,
    /** Another plate is shown: its first drawing is fitted. */
    forget() {
      unseen = true;
    },
    /** Fits the first drawing when it comes. */
    watch: () =>
      store.watch(["answer"], ({ answer }) => {
        if (!unseen || !answer?.drawing) return;
        unseen = false;
        fit();
      }),
  };
}
