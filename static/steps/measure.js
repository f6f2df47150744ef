/** Measure: the floor, as typed in or as surveyed. */

import { h } from "../dom.js";
import { documentField, fold, part } from "./parts.js";
import { tray } from "./layout.js";
import { survey } from "../survey/survey.js";

/** @param {import("./parts.js").Context} context */
export function measure(context) {
  const { document } = context.store.get();
  const { outline } = document.floor;
  const size =
    outline.shape === "rectangle"
      ? [
          documentField(context, {
            path: ["floor", "outline", "width_mm"],
            label: "Width inside",
            type: "length",
            above: 0,
            always: true,
            help: "Between the left and the right inner wall, at the floor.",
          }),
          documentField(context, {
            path: ["floor", "outline", "depth_mm"],
            label: "Depth inside",
            type: "length",
            above: 0,
            always: true,
            help: "Between the front and the rear inner wall, at the floor.",
          }),
        ]
      : null;
  return [
    fold(
      "The floor",
      !document.survey?.readings?.length,
      h(
        "div.fields",
        {},
        size,
        documentField(context, {
          path: ["floor", "clear_height_mm"],
          label: "Clear height",
          type: "length",
          above: 0,
          optional: true,
          help: "From the floor to what closes the case above.",
        }),
        documentField(context, {
          path: ["floor", "thickness_mm"],
          label: "Floor's thickness",
          type: "length",
          above: 0,
          usual: 2,
          help: "Of the sheet the case floor is made of.",
        }),
        documentField(context, {
          path: ["floor", "material"],
          label: "Floor is of",
          type: "choice",
          usual: "aluminium",
          options: [
            ["aluminium", "Aluminium"],
            ["steel", "Steel"],
            ["acrylic", "Acrylic"],
            ["other", "Something else"],
          ],
          help: "Warmth makes it grow; the mounting holes must allow for that.",
        }),
      ),
    ),
    ...survey(context),
    part("What stands on it", tray(context, ["obstacle", "opening"])),
  ];
}
