/** What the shop can do: its cutters, walls, tolerance and stock, kept as a profile under the shop's name. */

import { dig, put } from "../model/edit.js";
import { h } from "../dom.js";
import { button, field } from "../panels/form.js";
import { documentField } from "./parts.js";

/** @type {any[]} */
const FIELDS = [
  { path: ["shop", "name"], label: "Shop", type: "text", usual: "", most: 120, help: "Whoever mills the plate." },
  {
    path: ["shop", "least_wall_mm"],
    label: "Least wall",
    type: "length",
    above: 0,
    usual: 2,
    help: "The thinnest wall the shop leaves standing. Where it is more than a rule's usual limit, it goes before it.",
  },
  {
    path: ["shop", "tolerance_mm"],
    label: "Tolerance",
    type: "length",
    above: 0,
    usual: 0.1,
    help: "How true the shop cuts.",
  },
  {
    path: ["shop", "deepest_by_diameter"],
    label: "Deepest, in cutter diameters",
    type: "number",
    above: 0,
    usual: 3,
    help: "A long thin cutter bends.",
  },
  {
    path: ["shop", "sheet_width_mm"],
    label: "Sheet width",
    type: "length",
    above: 0,
    usual: 600,
    help: "Of the largest sheet the shop mills.",
  },
  {
    path: ["shop", "sheet_depth_mm"],
    label: "Sheet depth",
    type: "length",
    above: 0,
    usual: 400,
    help: "Of the largest sheet the shop mills.",
  },
];
/** @type {[string, string, number[], string][]} */
const LISTS = [
  ["cutter_diameters_mm", "Cutters, mm", [2.5, 3, 4, 6, 8, 10], "Diameters, with commas between them."],
  [
    "stock_thicknesses_mm",
    "Sheets, mm thick",
    [5, 6, 8, 10, 12, 15, 20, 25, 30],
    "Thicknesses the shop has, with commas between them.",
  ],
];

/** Numbers out of a list as it is typed; null when one is no length. @param {string[]} words @returns {number[]|null} */
export function lengths(words) {
  const found = words.map((word) => Number(word.replace(",", ".")));
  return found.length && found.every((value) => value > 0 && value <= 5000) ? found : null;
}

/** @param {import("./parts.js").Context} context */
export function shop(context) {
  const { store, actions, api, local, again } = context;
  const { document, unit } = store.get();
  if (!local.shopsAsked) {
    local.shopsAsked = true;
    api
      .get("/api/shops")
      .then((/** @type {any} */ { shops }) => {
        local.shops = shops;
        again();
      })
      .catch(() => {});
  }
  const kept = local.shops ?? [];
  return [
    kept.length > 0 &&
      field(
        /** @type {any} */ ({
          label: "Kept profiles",
          type: "choice",
          options: [["", "Choose one…"], ...kept.map((/** @type {any} */ s) => [s.name, s.name])],
          help: "Copies a kept profile into this plate.",
        }),
        "",
        {
          unit,
          keep: "shop-kept",
          change: (name) => {
            const profile = kept.find((/** @type {any} */ s) => s.name === name);
            if (profile) actions.edit(`Take ${name}'s profile`, (/** @type {any} */ d) => put(d, ["shop"], profile));
          },
        },
      ),
    h(
      "div.fields",
      {},
      FIELDS.map((f) => documentField(context, f)),
      LISTS.map(([key, label, usual, help]) => {
        const given = dig(document, ["shop", key]);
        return field(/** @type {any} */ ({ label, type: "ids", help }), given ?? usual, {
          unit,
          keep: `shop-${key}`,
          given: given !== undefined,
          change: (words) => {
            const next = lengths(words.map(String));
            local.shopProblem = next ? "" : `${label}: numbers above 0, with commas between them.`;
            if (next) actions.edit(`Change ${label}`, (/** @type {any} */ d) => put(d, ["shop", key], next));
            else again();
          },
        });
      }),
    ),
    h(
      "div.doings",
      {},
      button(
        "Keep as a profile",
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
