/** The fields that a finding's remedy speaks of, so that none of them has to be looked for. */

import { FIELDS } from "../format.js";

/**
 * @typedef {{label: string, step: string, keep: string}} Way  a field: what it is called, its step, its `data-keep`
 */

/** Steps in which the parts of the document are worked at. @type {Record<string, string>} */
const STEP = { seal: "hand-off", plate: "lay-out", loop: "channels", shop: "check", test_piece: "test-piece" };

/** Models of these parts. @type {Record<string, keyof typeof FIELDS>} */
const MODEL = { seal: "Seal", plate: "Plate", loop: "Loop", shop: "Shop", test_piece: "TestPiece" };

const SOFTER = ["seal.hardness_shore_a", "seal.screw", "seal.screw_pitch_mm", "seal.insert_pull_n"];
const SHEETS = ["plate.body_thickness_is", "plate.lid_thickness_is", "plate.body_thickness_mm", "plate.lid_thickness_mm"];

/** By rule, the fields that its remedies name, the one that helps most often first. @type {Record<string, string[]>} */
const WAYS = {
  "screw-load": SOFTER,
  "screw-torque": SOFTER,
  "lid-squeeze": ["seal.hardness_shore_a", "seal.screw_pitch_mm", "plate.lid_thickness_mm", "seal.cord_mm"],
  "screw-thread": ["plate.body_thickness_mm", "seal.run_out", "seal.insert_pull_n"],
  "screw-floor": ["plate.body_thickness_mm"],
  "screw-edge": ["seal.screw"],
  "screw-size": ["seal.screw"],
  "screw-pitch": ["seal.screw_pitch_mm"],
  "seal-flatness": ["seal.screw_pitch_mm", "seal.cord_mm"],
  "seal-wall": ["seal.cord_mm", "seal.wall_mm", "seal.grooves", "seal.kind"],
  "seal-bend": ["seal.cord_mm"],
  "seal-under": ["seal.cord_mm", "plate.body_thickness_mm", "seal.kind"],
  "seal-cutter": ["seal.cord_mm", "shop.cutter_diameters_mm"],
  "seal-fill": ["seal.fill_percent", "seal.cord_tolerance_mm", "seal.depth_tolerance_mm"],
  "seal-squeeze-least": ["seal.squeeze_percent", "seal.cord_tolerance_mm", "seal.depth_tolerance_mm"],
  "seal-squeeze-most": ["seal.squeeze_percent", "seal.cord_tolerance_mm", "seal.depth_tolerance_mm"],
  "seal-impossible": ["seal.cord_mm", "seal.squeeze_percent", "seal.kind"],
  "cord-coolant": ["seal.cord_material"],
  "sheet-thickness": SHEETS,
  "lid-sheet": ["plate.lid_thickness_is", "plate.lid_thickness_mm"],
  "lid-stress": ["plate.lid_thickness_mm"],
  "lid-deflection": ["plate.lid_thickness_mm"],
  "floor-stress": ["plate.body_thickness_mm"],
  "material-unknown": ["plate.material"],
  "material-extruded": ["plate.sheet"],
  "material-anneal": ["plate.annealed"],
  "stock-thickness": ["plate.body_thickness_mm", "plate.lid_thickness_mm", "shop.stock_thicknesses_mm"],
  "sheet-size": ["shop.sheet_width_mm", "shop.sheet_depth_mm"],
  "cutter-channel": ["shop.cutter_diameters_mm"],
  "cutter-corner": ["shop.cutter_diameters_mm"],
  "cutter-recess": ["shop.cutter_diameters_mm", "shop.deepest_by_diameter"],
  "drop-too-short": ["plate.z_mm"],
  "height-above": ["plate.z_mm"],
  "hangs-below": ["plate.z_mm"],
  "plate-over-obstacle": ["plate.z_mm"],
  "test-pressure": ["loop.test_pressure_kpa"],
  "coolant-hot": ["loop.water_limit_c", "plate.material"],
  "coolant-plate": ["loop.coolant.kind"],
  "coolant-range": ["loop.coolant.kind", "loop.coolant.strength_percent"],
  "tube-size-unknown": ["loop.tube_size"],
};

/** Rules whose findings lead to fields. */
export const WITH_WAYS = Object.keys(WAYS);

/** The fields that may end a finding, by its rule. @param {string} rule @returns {Way[]} */
export const waysOut = (rule) => (WAYS[rule] ?? []).map(wayOf);

/** @param {string} path @returns {Way} */
function wayOf(path) {
  const [part, ...keys] = path.split(".");
  const model = keys.length > 1 ? "Coolant" : MODEL[part];
  const key = /** @type {string} */ (keys.at(-1));
  const { label } = /** @type {Record<string, {label: string}>} */ (FIELDS[model])[key];
  return { label, step: STEP[part], keep: path.replaceAll(".", "-") };
}
