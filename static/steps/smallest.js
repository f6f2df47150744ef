/** The smallest plate that holds what is cut into it, as one step that can be undone. */

import { h } from "../dom.js";
import { itemsOf } from "../model/document.js";
import { button } from "../panels/form.js";

/** @typedef {import("../types.js").SmallestPlate} SmallestPlate */

/** @param {import("./parts.js").Context} context */
export function smallestPlate(context) {
  const { store, actions, api, ask, local, again } = context;
  const { document } = store.get();
  if (!itemsOf(document, "port").length && !itemsOf(document, "channel").length) return null;
  const run = () =>
    ask("Smallest plate", async () => {
      const asked = store.get().document;
      Object.assign(local, { smallestRuns: true, smallestSaid: "" });
      again();
      try {
        const found = /** @type {SmallestPlate} */ (await api.post("/api/smallest-plate", { document: asked }));
        const same = store.get().document === asked;
        local.smallestSaid = same ? words(found) : "The plate has changed meanwhile; its outline stays.";
        if (same && !found.why) actions.commit(found.document, "Smallest plate");
      } finally {
        local.smallestRuns = false;
        again();
      }
    });
  return h(
    "div",
    {},
    h(
      "p.quiet",
      {},
      "The smallest rectangle that holds everything cut into the plate, with walls, groove and lid screws placed again. This takes some seconds.",
    ),
    h(
      "div.actions-row",
      {},
      button(local.smallestRuns ? "Working…" : "Smallest plate", run, {
        disabled: Boolean(local.smallestRuns),
        "data-keep": "smallest-plate",
      }),
    ),
    h("div", { role: "status" }, local.smallestSaid && h("p", {}, local.smallestSaid)),
  );
}

/** @param {SmallestPlate} found */
function words(found) {
  if (found.why) return found.why;
  const size = (/** @type {number} */ width, /** @type {number} */ depth) => `${width.toFixed(0)} × ${depth.toFixed(0)} mm`;
  return `${size(found.before_width_mm, found.before_depth_mm)} became ${size(found.width_mm, found.depth_mm)}, ${found.smaller_percent.toFixed(0)} % less. Undo brings the old plate back.`;
}
