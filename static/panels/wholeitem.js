/** The panel of the plate or of the floor: selected like any other item, with its outline and its own values. */

import { h } from "../dom.js";
import { WHOLES, outlineOf } from "../model/document.js";
import { documentField } from "../steps/parts.js";
import { MATERIAL_FIELDS, PLATE_FIELDS, fieldOf, outlineFields } from "./fields.js";
import { moveBy } from "./itemactions.js";
import { outlineCorners } from "./outlinecorners.js";
import { outlineTools } from "./outlinetools.js";

const FLOOR_FIELDS = [
  fieldOf("Floor", "clear_height_mm", "From the floor to what closes the case above.", { at: ["floor"] }),
  fieldOf("Floor", "thickness_mm", "Of the sheet the case floor is made of.", { at: ["floor"] }),
];

/** @param {import("./itempanel.js").Parts} parts @param {import("../types.js").PlateDocument} document @param {keyof typeof WHOLES} id */
export function wholeItem(parts, document, id) {
  const outline = outlineOf(document, id);
  const own = id === "plate" ? [...PLATE_FIELDS, ...MATERIAL_FIELDS] : FLOOR_FIELDS;
  const shape = outlineFields(outline).map((spec) => ({ ...spec, path: [id, ...spec.path], always: true }));
  return [
    h("header.item-head", {}, h("h3", {}, WHOLES[id])),
    h(
      "div.fields",
      {},
      [...shape, ...own].map((spec) => documentField(parts, spec)),
    ),
    outlineCorners(parts, document, id),
    outlineTools(parts, document, id),
    moveBy(parts),
  ];
}
