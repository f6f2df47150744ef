/** What lies between two selected items: the clear gap as the program's own shapes have it, and the centre distance. */

import { h } from "../dom.js";
import { format } from "../model/quantity.js";

/**
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Point} Point
 * @typedef {{document: PlateDocument, key: string, gap: number|null, ends: [Point, Point]|null}} Known  the gap of two items in a document and their centres, mm
 */

/** @param {import("./itempanel.js").Parts} parts @param {PlateDocument} document @param {string[]} ids two of them @param {() => void} again */
export function between(parts, document, ids, again) {
  const { unit } = parts.store.get();
  const words = (/** @type {number} */ v) => `${format(v, unit, 2)} ${unit}`;
  const known = measured(parts, document, ids, again);
  if (known && !known.ends) return null;
  /** @param {(a: Point, b: Point) => number} figure */
  const centres = (figure) => (known?.ends ? words(figure(...known.ends)) : "…");
  return h(
    "section.sub",
    { role: "group", "aria-label": "Between the two" },
    h("h4", {}, "Between the two"),
    h(
      "dl.facts",
      {},
      known?.gap === null ? null : [h("dt", {}, "Clear gap in plan"), h("dd", {}, known ? words(known.gap) : "…")],
      h("dt", {}, "Centre to centre"),
      h("dd", {}, centres((a, b) => Math.hypot(b[0] - a[0], b[1] - a[1]))),
      h("dt", {}, "To the right"),
      h("dd", {}, centres((a, b) => b[0] - a[0])),
      h("dt", {}, "To the rear"),
      h("dd", {}, centres((a, b) => b[1] - a[1])),
    ),
  );
}

/** Gap and centres if they are known; else they are asked for, and the panel redrawn with them. @param {import("./itempanel.js").Parts} parts @param {PlateDocument} document @param {string[]} ids @param {() => void} again @returns {Known|null} */
function measured({ api, store, memory }, document, ids, again) {
  const key = ids.join();
  if (memory.between?.document === document && memory.between.key === key) return memory.between;
  // While something moves there is no hurry: the figure comes when it has come to rest.
  if (store.get().draft) return null;
  void api.measure(document, ids).then(
    ({ gap_mm: gap, centres }) => {
      if (store.get().document !== document || store.get().selection.join() !== key) return;
      const [one, other] = ids.map((id) => centres[id]);
      memory.between = { document, key, gap, ends: one && other ? [one, other] : null };
      again();
    },
    () => {
      // Without an answer there is no figure; the sign of the link says why.
    },
  );
  return null;
}
