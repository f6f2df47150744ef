/** What a dimension line measures, on its card; the value is the server's. */

import { h } from "../dom.js";
import { endWords } from "../model/dimensions.js";
import { format } from "../model/quantity.js";

/** @param {import("./itempanel.js").Parts} parts @param {import("../types.js").Item} item */
export function dimensionFacts({ store }, item) {
  const { answer, unit } = store.get();
  const found = answer?.drawing?.dimensions?.[item.id];
  const value = found?.value_mm;
  return h(
    "dl.facts",
    { "aria-label": "Measured" },
    h("dt", {}, "Measures"),
    h("dd", {}, typeof value === "number" ? `${format(value, unit, 2)} ${unit}` : found?.why ? `nothing: ${found.why}` : "…"),
    h("dt", {}, "Measured from"),
    h("dd", {}, endWords(item.first)),
    h("dt", {}, "Measured to"),
    h("dd", {}, endWords(item.second)),
  );
}
