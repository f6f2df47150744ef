/** The survey on the Measure sheet: points, readings, what they say, and the floor that is drawn from them. */

import { fold, part } from "../steps/parts.js";
import { announce, answer } from "./result.js";
import { drawing } from "./import.js";
import { surveyOf } from "./edits.js";
import { outlines, tools } from "./outlines.js";
import { photo } from "./photo.js";
import { points } from "./points.js";
import { readings } from "./readings.js";

/** @param {import("../steps/parts.js").Context} context */
export function survey(context) {
  const { document, look } = context.store.get();
  const { points: named } = surveyOf(document);
  announce(look?.survey);
  return [
    part("Points", points(context)),
    part("Readings", readings(context)),
    part("What they say", answer(context)),
    named.length > 2 && part("Drawn through them", outlines(context)),
    fold("Tools", false, tools(context)),
    fold("From a drawing", false, drawing(context)),
    fold("Photo from above", Boolean(document.photo), photo(context)),
  ];
}
