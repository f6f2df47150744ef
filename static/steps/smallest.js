/** The smallest plate that holds what is cut into it, as one step that can be undone. */

import { h } from "../dom.js";
import { itemsOf } from "../model/document.js";
import { button, field } from "../panels/form.js";

/** @typedef {import("../types.js").SmallestPlate} SmallestPlate */

/** @type {[string, Omit<import("../panels/form.js").Field, "label">, string][]} */
const WISHES = [
  [
    "shape",
    {
      type: "choice",
      options: [
        ["rectangle", "Rectangle"],
        ["notched", "Empty corners cut away"],
      ],
      help: "A rectangle, or an outline like an L or a T: corners in which nothing lies, or for which the floor has no room, are cut away.",
    },
    "Smallest plate: shape",
  ],
  ["clear_mm", { type: "length", least: 0, most: 100, help: "Kept between the plate's edge and the floor's." }, "Clearance to the floor's edge"],
];

/** @param {import("./parts.js").Context} context */
export function smallestPlate(context) {
  const { store, actions, api, ask, local, again } = context;
  const { document, unit } = store.get();
  if (!itemsOf(document, "port").length && !itemsOf(document, "channel").length) return null;
  local.smallestWishes ??= { shape: "rectangle", clear_mm: 0 };
  const run = () =>
    ask("Smallest plate", async () => {
      const asked = store.get().document;
      Object.assign(local, { smallestRuns: true, smallestSaid: "" });
      again();
      try {
        const found = /** @type {SmallestPlate} */ (
          await api.post("/api/smallest-plate", { document: asked, ...local.smallestWishes })
        );
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
      "The smallest outline that holds everything cut into the plate, with walls, groove and lid screws placed again. This takes some seconds.",
    ),
    h(
      "div.fields",
      {},
      WISHES.map(([key, spec, label]) =>
        field({ ...spec, label }, local.smallestWishes[key], {
          unit,
          keep: `smallest-${key}`,
          change: (next) => {
            local.smallestWishes[key] = next;
          },
        }),
      ),
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
  const cut = found.notches ? `, ${found.notches} corner${found.notches === 1 ? "" : "s"} cut away` : "";
  return `${size(found.before_width_mm, found.before_depth_mm)} became ${size(found.width_mm, found.depth_mm)}${cut}: ${found.smaller_percent.toFixed(0)} % less area. Undo brings the old plate back.`;
}
