/** Where a finding is to be worked at: the field, the reading or the item that it is about. */

import { find } from "../model/document.js";

/**
 * @typedef {import("../types.js").Finding} Finding
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {{step: string, keep: string}} Place  a step, and the `data-keep` of a field in it
 */

/** Fields that a rule's findings are about when they name no item. The first start that fits counts. @type {[string, string, string][]} */
const FIELDS = [
  ["limit-unknown", "check", "fold-Limits of the rules"],
  ["above-ceiling", "measure", "floor-clear_height_mm"],
  ["outside-case", "measure", "floor-outline-width_mm"],
  ["through-floor", "measure", "floor-thickness_mm"],
  ["plate-outside", "lay-out", "plate-outline-width_mm"],
  ["survey-chance", "test-piece", "fold-Spreads and limits"],
  ["landing-chance", "test-piece", "fold-Spreads and limits"],
  ["survey-", "measure", "entry-value"],
  ["screw-none", "hand-off", "screws-fill"],
  ["screw-pitch", "hand-off", "seal-screw_pitch_mm"],
  ["screw-", "hand-off", "seal-screw"],
  ["thread-in-lid", "lay-out", "plate-lid_thickness_mm"],
  ["seal-squeeze", "hand-off", "seal-squeeze_percent"],
  ["seal-wall", "hand-off", "seal-wall_mm"],
  ["seal-", "hand-off", "seal-cord_mm"],
  ["cord-", "hand-off", "seal-kind"],
  ["lid-", "lay-out", "plate-lid_thickness_mm"],
  ["floor-stress", "lay-out", "plate-body_thickness_mm"],
  ["sheet-thickness", "lay-out", "plate-body_thickness_mm"],
  ["edge-port-thickness", "lay-out", "plate-body_thickness_mm"],
  ["material-", "lay-out", "plate-body_thickness_mm"],
  ["stock-thickness", "check", "shop-stock_thicknesses_mm"],
  ["sheet-size", "check", "shop-sheet_width_mm"],
  ["cutter-", "check", "shop-cutter_diameters_mm"],
  ["drill-", "check", "shop-cutter_diameters_mm"],
  ["test-pressure", "channels", "loop-test_pressure_kpa"],
  ["coolant-", "channels", "loop-coolant-kind"],
  ["water-too-warm", "channels", "loop-water_limit_c"],
  ["plate-too-warm", "channels", "loop-water_limit_c"],
  ["tube-", "channels", "loop-tube_inner_diameter_mm"],
  ["loop-", "lay-out", "tool-port"],
  ["no-", "lay-out", "device-kind"],
];

/** Fields that an outline has or has not, and the fold that they stand in. @type {Record<string, {of: "floor"|"plate", fold: string}>} */
const WIDTHS = {
  "floor-outline-width_mm": { of: "floor", fold: "fold-The floor" },
  "plate-outline-width_mm": { of: "plate", fold: "fold-The plate" },
};

/** The step in which a question is worked at. @type {Record<string, string>} */
const STEPS = { fits: "lay-out", flows: "channels", holds: "hand-off", made: "check" };

/**
 * Where to go for a finding, beside selecting its items; null when these are all there is to go to.
 * @param {PlateDocument} document @param {Pick<Finding, "rule"|"items">} finding @param {string} [question] of its rule
 * @returns {Place|null}
 */
export function placeFor(document, { rule, items }, question) {
  const readings = document.survey?.readings ?? [];
  const points = document.survey?.points ?? [];
  const reading = items.find((id) => readings.some((one) => one.id === id));
  if (reading) return { step: "measure", keep: `value-${reading}` };
  if (items.some((id) => find(document, id))) return null;
  const point = items.find((id) => points.some((one) => one.id === id));
  if (point) return { step: "measure", keep: `point-${point}` };
  const field = FIELDS.find(([start]) => rule.startsWith(start));
  const whole = field && WIDTHS[field[2]];
  // Only a rectangle has a width; the corners of another outline stand in the fold.
  if (field && whole && document[whole.of]?.outline?.shape !== "rectangle") return { step: field[1], keep: whole.fold };
  if (field) return { step: field[1], keep: field[2] };
  return { step: STEPS[question ?? ""] ?? "check", keep: "step-title" };
}

/** Opens the folds around a field and puts the focus there, once the step is drawn. @param {string} keep */
export function focusField(keep) {
  requestAnimationFrame(() =>
    requestAnimationFrame(() => {
      const field =
        window.document.querySelector(`:is(#step-panel, #tool-column) [data-keep="${CSS.escape(keep)}"]`) ??
        window.document.querySelector('#step-panel [data-keep="step-title"]');
      if (!(field instanceof HTMLElement)) return;
      for (let fold = field.closest("details"); fold; fold = fold.parentElement?.closest("details") ?? null)
        fold.open = true;
      field.scrollIntoView({ block: "center" });
      field.focus();
    }),
  );
}
