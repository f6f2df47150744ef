/** The survey in the measuring step: points, readings, the result, and the floor that is drawn from them. */

import { fold, part } from "../steps/parts.js";
import { announce, result } from "./result.js";
import { drawing } from "./import.js";
import { surveyOf } from "./edits.js";
import { outlines, tools } from "./throughpoints.js";
import { photo } from "./photo.js";
import { points } from "./points.js";
import { readings } from "./readings.js";

/** @param {import("../steps/parts.js").Context} context */
export function survey(context) {
  const { document, answer } = context.store.get();
  const { points: named } = surveyOf(document);
  announce(answer?.survey);
  return [
    part("Points", points(context)),
    part("Readings", readings(context)),
    part("Survey result", result(context)),
    named.length > 2 && part("Outlines", outlines(context)),
    fold("Tools", false, tools(context)),
    fold("From a drawing", false, drawing(context)),
    fold("Photo from above", Boolean(document.photo), photo(context)),
  ];
}
