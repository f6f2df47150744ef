/** What lies between two selected items: the clear gap as the program's own shapes have it, and the centre distance. */

import { h } from "../dom.js";
import { centreOf } from "../model/document.js";
import { format } from "../model/quantity.js";

/**
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {{document: PlateDocument, key: string, gap: number|null}} Known  the gap of two items in a document, mm
 */

/** @param {import("./itempanel.js").Parts} parts @param {PlateDocument} document @param {string[]} ids two of them @param {() => void} again */
export function between(parts, document, ids, again) {
  const { unit } = parts.store.get();
  const [a, b] = ids.map((id) => centreOf(document, id));
  if (!a || !b) return null;
  const words = (/** @type {number} */ v) => `${format(v, unit, 2)} ${unit}`;
  const known = gapOf(parts, document, ids, again);
  return h(
    "section.sub",
    { "aria-label": "Between the two" },
    h("h4", {}, "Between the two"),
    h(
      "dl.facts",
      {},
      known?.gap === null ? null : [h("dt", {}, "Clear gap in plan"), h("dd", {}, known ? words(known.gap) : "…")],
      h("dt", {}, "Centre to centre"),
      h("dd", {}, words(Math.hypot(b[0] - a[0], b[1] - a[1]))),
      h("dt", {}, "To the right"),
      h("dd", {}, words(b[0] - a[0])),
      h("dt", {}, "To the rear"),
      h("dd", {}, words(b[1] - a[1])),
    ),
  );
}

/** The gap if it is known; else it is asked for, and the panel redrawn with it. @param {import("./itempanel.js").Parts} parts @param {PlateDocument} document @param {string[]} ids @param {() => void} again @returns {{gap: number|null}|null} */
function gapOf({ api, store, memory }, document, ids, again) {
  const key = ids.join();
  if (memory.between?.document === document && memory.between.key === key) return memory.between;
  // While something moves there is no hurry: the figure comes when it has come to rest.
  if (store.get().draft) return null;
  void api.measure(document, ids).then(
    ({ gap_mm: gap }) => {
      if (store.get().document !== document || store.get().selection.join() !== key) return;
      memory.between = { document, key, gap };
      again();
    },
    () => {
      // Without an answer there is no figure; the sign of the link says why.
    },
  );
  return null;
}
