/** Hand off: the seal and the screws, what may stand, and the files for the shop. */

import { h } from "../dom.js";
import { caution, documentField, fold, part } from "./sheet.js";
import { files } from "./testpiece.js";

/** @type {any[]} */
const SEAL = [
  { path: ["seal", "kind"], label: "Made tight by", type: "choice", usual: "cord", options: [["cord", "A cord in a groove"], ["gasket", "A cut gasket"], ["bonded", "A bonded lid"]], help: "A bonded lid has no groove and cannot be opened again." },
  { path: ["seal", "cord_mm"], label: "Cord", type: "length", above: 0, usual: 2, help: "Diameter of its section." },
  { path: ["seal", "squeeze_percent"], label: "Squeeze", type: "percent", least: 5, most: 40, usual: 25, help: "How much of its section is pressed away: 20 to 30 % is usual for a face seal." },
  { path: ["seal", "wall_mm"], label: "Wall beside the groove", type: "length", above: 0, usual: 2, help: "Between groove and water, and beyond it." },
  { path: ["seal", "screw"], label: "Lid screws", type: "choice", usual: "M4", options: [["M3", "M3"], ["M4", "M4"], ["M5", "M5"]], help: "Metric coarse." },
  { path: ["seal", "screw_pitch_mm"], label: "Screw pitch", type: "length", above: 0, usual: 40, help: "From screw to screw along the groove." },
];

/** @param {import("./sheet.js").Context} context */
export function handOff(context) {
  return [
    part("Files for the shop", files(context, "final", [["dxf", "DXF for milling"], ["pdf", "Drawing, PDF"], ["svg", "SVG"]])),
    fold("Seal and lid", true, h("div.fields", {}, SEAL.map((f) => documentField(context, f)))),
    caution("Before water meets the computer.", "Test with water or a hand pump at low pressure, never with shop air. Leak-test for a day with the computer unpowered and unplugged.", "Follow local codes, the makers' instructions, and licensed practice where it applies."),
  ];
}
