/** Seal, lid screws, their torque and the pressure test. */

import { h } from "../dom.js";
import { DEFAULTS } from "../format.js";
import { put } from "../model/edit.js";
import { lidScrews, withScrews, withoutLoose } from "../model/lidscrews.js";
import { format } from "../model/quantity.js";
import { among, fieldOf } from "../panels/fields.js";
import { button } from "../panels/form.js";
import { taskButton, taskState } from "./doing.js";
import { documentField, fold, innerFold, part, table } from "./parts.js";
import { placeScrews } from "./placescrews.js";

/** Sizes that fit a lid. */
const LID_SCREWS = ["M3", "M4", "M5"];
const at = ["seal"];

const SEAL = [
  fieldOf("Seal", "kind", "A bonded lid has no groove and cannot be opened again.", { at }),
  fieldOf("Seal", "cord_mm", "Diameter of its section.", { at }),
  fieldOf("Seal", "squeeze_percent", "How much of its section is pressed away: 20 to 30 % is usual for a face seal.", {
    at,
  }),
  fieldOf("Seal", "wall_mm", "Between groove and coolant, and beyond it.", { at }),
  fieldOf("Seal", "screw", "Metric coarse.", { at, ...among(LID_SCREWS) }),
  fieldOf("Seal", "screw_pitch_mm", "From screw to screw along the groove.", { at }),
];

/** What is asked for only when it differs from the usual, by kind of seal. @type {Record<string, import("../panels/fields.js").Field[]>} */
const MORE = {
  cord: [
    fieldOf("Seal", "grooves", undefined, { at }),
    fieldOf("Seal", "cord_material", undefined, { at }),
    fieldOf("Seal", "hardness_shore_a", undefined, { at }),
    fieldOf("Seal", "cord_tolerance_mm", undefined, { at }),
    fieldOf("Seal", "depth_tolerance_mm", undefined, { at }),
    fieldOf("Seal", "fill_percent", undefined, { at }),
  ],
  gasket: [
    fieldOf("Seal", "gasket", undefined, { at }),
    fieldOf("Seal", "gasket_mm", undefined, { at }),
    fieldOf("Seal", "hardness_shore_a", undefined, { at }),
  ],
  bonded: [],
};

/** How the screws' holes are made. */
const THREADS = [
  fieldOf("Seal", "run_out", undefined, { at }),
  fieldOf("Seal", "insert_pull_n", undefined, { at }),
];

/**
 * @typedef {import("./parts.js").Context} Context
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 */

/** @param {Context} context */
export function seal(context) {
  const { document, answer } = context.store.get();
  return [
    fold(
      "Seal and lid",
      true,
      sealing(answer?.seal),
      h(
        "div.fields",
        {},
        SEAL.map((f) => documentField(context, f)),
      ),
      innerFold(
        "Materials, tolerances and threads",
        false,
        h(
          "div.fields",
          {},
          [...(MORE[document.seal?.kind ?? DEFAULTS.Seal.kind] ?? []), ...THREADS].map((f) => documentField(context, f)),
        ),
      ),
    ),
    screws(context, document),
    fold("Torque and pressure test", false, torque(answer?.lid), pressureTest(answer?.lid)),
    bending(answer?.lid),
  ];
}

/** @param {Context} context @param {PlateDocument} document */
function screws(context, document) {
  const wet = (document.channels ?? []).length > 0;
  const designed = document.seal?.screws_by_rule ? context.store.get().answer?.seal?.by_rule : null;
  const stored = lidScrews(document).length;
  const count = stored + (designed?.holes.length ?? 0);
  return part(
    "Lid screws",
    h(
      "p",
      {},
      count ? `${count} ${count === 1 ? "screw holds" : "screws hold"} the lid.` : "No screw holds the lid yet.",
    ),
    !wet && h("p.quiet", {}, "They are placed along the seal, so draw the channels first."),
    document.seal?.screws_by_rule
      ? following(context, designed, stored)
      : h(
          "div.actions-row",
          {},
          taskButton(
            context,
            "screws-fill",
            count ? "Add missing screws" : "Place the screws",
            () => placeScrews(context, false),
            count || !wet ? {} : { class: "do" },
          ),
          count > 0 && taskButton(context, "screws-again", "Re-place all screws", () => placeScrews(context, true)),
          button("Let screws follow", () => followRule(context), { "data-keep": "screws-follow" }),
        ),
    taskState(context, "screws-fill", "Placing screws…"),
    taskState(context, "screws-again", "Placing screws…"),
  );
}

/** Screws that are worked out from the plate: what was chosen, what does not hold, and how to keep them where they are. @param {Context} context @param {import("../types.js").ScrewDesign|null|undefined} designed @param {number} stored */
const following = (context, designed, stored) => [
  h(
    "p.quiet",
    {},
    "They are worked out again with every change and follow the channels." +
      (stored ? ` ${stored} of them ${stored === 1 ? "is" : "are"} pinned.` : ""),
  ),
  designed?.chose && h("p", {}, designed.chose),
  designed?.problems.map((problem) => h("p.problem", {}, problem)),
  h(
    "div.actions-row",
    {},
    button("Pin all screws", () => designed && pinScrews(context, designed), {
      disabled: !designed,
      "data-keep": "screws-pin",
    }),
  ),
];

/** Lid screws become worked out; those that are locked stay pinned. @param {Context} context */
const followRule = ({ actions }) =>
  actions.edit("Let the lid screws follow", (d) => put(withoutLoose(d), ["seal", "screws_by_rule"], true));

/** The worked out screws become holes of the plate, with the thread and the grooves that they were designed for. @param {Context} context @param {import("../types.js").ScrewDesign} designed */
const pinScrews = ({ actions }, designed) =>
  actions.edit("Pin the lid screws", (d) => put(withScrews(d, designed), ["seal", "screws_by_rule"], undefined));

/** What the seal comes to. @param {import("../types.js").SealAnswer|null|undefined} seal */
function sealing(seal) {
  if (!seal) return h("p.quiet", {}, "…");
  if (seal.problem) return h("p.problem", {}, seal.problem);
  if (seal.kind !== "cord" || !seal.gland) return null;
  const { gland } = seal;
  return h(
    "dl.facts",
    {},
    h("dt", {}, "Groove"),
    h("dd", {}, `${format(gland.width_mm, "mm", 2)} mm wide, ${format(gland.depth_mm, "mm", 2)} mm deep`),
    h("dt", {}, "Cord"),
    h(
      "dd",
      {},
      `${format((seal.cord_length_mm ?? 0) / 1000, "mm", 2)} m in ${seal.loops.length} piece${seal.loops.length === 1 ? "" : "s"}`,
    ),
    seal.missing.length > 0 && [
      h("dt", {}, "Missing"),
      h("dd", {}, `${seal.missing.length} wall${seal.missing.length === 1 ? "" : "s"}: see the findings`),
    ],
  );
}

/** @param {import("../types.js").LidAnswer|null|undefined} lid */
function torque(lid) {
  if (!lid?.torque) return h("p.quiet", {}, "The screws' torque is worked out once screws hold the lid.");
  const { text, screws: each } = lid.torque;
  return [
    h("p", {}, text),
    each.length > 0 &&
      table(
        "Torque of each screw, N m",
        ["Screw", "Minimum", "Maximum", "Limited by"],
        [...each].sort((a, b) => byNumber.compare(a.id, b.id)).map((one) => [one.id, format(one.least_n_m, "mm", 2), format(one.most_n_m, "mm", 2), one.limited_by]),
      ),
  ];
}

/** @param {import("../types.js").LidAnswer|null|undefined} lid */
const pressureTest = (lid) =>
  lid?.pressure_test && h("p", { class: lid.pressure_test.enough ? null : "missing" }, lid.pressure_test.text);

/** S2 before S10. */
const byNumber = new Intl.Collator("en", { numeric: true });

/** The first of many ids, and how many there are. @param {string[]} items */
const fewOf = (items) => (items.length > 3 ? `${items.slice(0, 2).join(", ")} and ${items.length - 2} more` : items.join(", "));

/** Bending of lid and body under each load, and the stress at the screw heads. @param {import("../types.js").LidAnswer|null|undefined} lid */
export function bending(lid) {
  if (!lid?.bent.length) return null;
  const heads = lid.bent.some((one) => typeof one.head_stress_mpa === "number");
  /** @type {Map<string, typeof lid.bent>} */
  const byPlace = new Map();
  for (const one of lid.bent) {
    const place = fewOf(one.items) || one.what;
    byPlace.set(place, [...(byPlace.get(place) ?? []), one]);
  }
  const places = [...byPlace];
  return fold(
    "Bending of lid and body",
    false,
    places.map(([place, bent]) =>
      table(
        place,
        ["Load", "Span, mm", "Bends, mm", "MPa", ...(heads ? ["At heads, MPa"] : [])],
        bent.map((one) => [
          one.load,
          format(one.short_span_mm, "mm", 1),
          // Beyond half the thickness the theory of thin plates gives no figure.
          one.deflection_mm > one.thickness_mm / 2
            ? `over ${format(one.thickness_mm / 2, "mm", 1)}`
            : format(one.deflection_mm, "mm", 3),
          format(one.stress_mpa, "mm", 2),
          ...(heads ? [typeof one.head_stress_mpa === "number" ? format(one.head_stress_mpa, "mm", 2) : "—"] : []),
        ]),
        { class: "bent" },
      ),
    ),
  );
}
