/** What lies between two picked items: the clear gap, and the way from middle to middle. */

import { centreOf } from "../model/document.js";
import { h } from "../dom.js";
import { gapBetween } from "../geometry/gap.js";
import { format } from "../model/quantity.js";

/**
 * @param {any} document @param {string[]} ids two of them @param {"mm"|"in"} unit
 * @param {Map<string, import("../types.js").Point>} roots where channels reach ports, as the drawing has them
 */
export function between(document, ids, unit, roots) {
  const [a, b] = ids.map((id) => centreOf(document, id));
  if (!a || !b) return null;
  const f = (/** @type {number} */ v) => `${format(v, unit, 2)} ${unit}`;
  const gap = gapBetween(document, ids[0], ids[1], roots);
  return h(
    "section.sub",
    { "aria-label": "Between the two" },
    h("h4", {}, "Between the two"),
    h(
      "dl.facts",
      {},
      gap === null ? null : [h("dt", {}, "Clear gap in plan"), h("dd", {}, f(gap))],
      h("dt", {}, "From middle to middle"),
      h("dd", {}, f(Math.hypot(b[0] - a[0], b[1] - a[1]))),
      h("dt", {}, "To the right"),
      h("dd", {}, f(b[0] - a[0])),
      h("dt", {}, "To the rear"),
      h("dd", {}, f(b[1] - a[1])),
    ),
  );
}
