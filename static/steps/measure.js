/** Measure: the floor, as typed in or as surveyed. */

import { h } from "../dom.js";
import { fieldOf } from "../panels/fields.js";
import { documentField, fold } from "./parts.js";
import { survey } from "../survey/survey.js";

const at = ["floor"];
const SIZE = [
  fieldOf("Rectangle", "width_mm", "Between the left and the right inner wall, at the floor.", {
    at: [...at, "outline"],
    label: "Width inside",
    always: true,
  }),
  fieldOf("Rectangle", "depth_mm", "Between the front and the rear inner wall, at the floor.", {
    at: [...at, "outline"],
    label: "Depth inside",
    always: true,
  }),
];
const FLOOR = [
  fieldOf("Floor", "clear_height_mm", "From the floor to what closes the case above.", { at }),
  fieldOf("Floor", "thickness_mm", "Of the sheet the case floor is made of.", { at }),
  fieldOf("Floor", "material", "Warmth makes it grow; the mounting holes must allow for that.", { at }),
];

/** @param {import("./parts.js").Context} context */
export function measure(context) {
  const { document } = context.store.get();
  const size = document.floor.outline.shape === "rectangle" ? SIZE : [];
  return [
    fold(
      "The floor",
      !document.survey?.readings?.length,
      h(
        "div.fields",
        {},
        [...size, ...FLOOR].map((spec) => documentField(context, spec)),
      ),
    ),
    ...survey(context),
    h(
      "p.quiet.with-tools",
      {},
      "What stands on the floor, and openings in it, can also be drawn by hand: obstacle (O) and opening (W) beside the drawing.",
    ),
  ];
}
