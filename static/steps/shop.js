/** What the shop can do: its cutters, walls, tolerance and stock, kept as a profile under the shop's name. */

import { put } from "../model/edit.js";
import { h } from "../dom.js";
import { fieldOf } from "../panels/fields.js";
import { button, field } from "../panels/form.js";
import { documentField } from "./parts.js";

const at = ["shop"];

const SHOP_FIELDS = [
  fieldOf("Shop", "name", "The shop that mills the plate.", { at }),
  fieldOf("Shop", "least_wall_mm", "The thinnest wall the shop leaves standing. Overrides any smaller limit.", { at }),
  fieldOf("Shop", "tolerance_mm", "How true the shop cuts.", { at }),
  fieldOf("Shop", "deepest_by_diameter", "A long thin cutter bends.", { at }),
  fieldOf("Shop", "sheet_width_mm", "Of the largest sheet the shop mills.", { at }),
  fieldOf("Shop", "sheet_depth_mm", "Of the largest sheet the shop mills.", { at }),
];
const SHOP_LISTS = [
  fieldOf("Shop", "cutter_diameters_mm", "Diameters, with commas between them.", { at }),
  fieldOf("Shop", "stock_thicknesses_mm", "Thicknesses the shop has, with commas between them.", { at }),
];

/** @param {import("./parts.js").Context} context */
export function shop(context) {
  const { store, actions, api, local, again } = context;
  const { unit } = store.get();
  if (!local.shopsAsked) {
    local.shopsAsked = true;
    api
      .get("/api/shops")
      .then((/** @type {{shops: unknown}} */ { shops }) => {
        local.shops = shops;
        again();
      })
      .catch(() => {});
  }
  const kept = local.shops ?? [];
  return [
    kept.length > 0 &&
      field(
        {
          label: "Saved profiles",
          type: "choice",
          options: [["", "Choose one…"], ...kept.map((/** @type {{name: string}} */ s) => [s.name, s.name])],
          help: "Copies a saved profile into this plate.",
        },
        "",
        {
          unit,
          keep: "shop-kept",
          change: (name) => {
            const profile = kept.find((/** @type {{name: string}} */ s) => s.name === name);
            if (profile) actions.edit(`Use the profile of ${name}`, (d) => put(d, ["shop"], profile));
          },
        },
      ),
    h(
      "div.fields",
      {},
      [...SHOP_FIELDS, ...SHOP_LISTS].map((f) => documentField(context, f)),
    ),
    h(
      "div.actions-row",
      {},
      button(
        "Save as a profile",
        async () => {
          try {
            await api.put("/api/shops", store.get().document.shop ?? {});
            local.shops = (await api.get("/api/shops")).shops;
            local.shopProblem = "";
          } catch (error) {
            local.shopProblem = /** @type {Error} */ (error).message;
          }
          again();
        },
        { "data-keep": "keep-shop" },
      ),
    ),
    h("div", { role: "status" }, local.shopProblem && h("p.problem", {}, local.shopProblem)),
  ];
}
