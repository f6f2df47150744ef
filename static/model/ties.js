/**
 * Ties of hardware to survey points: what is tied moves with its points. Pure.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").SurveyedPoint} SurveyedPoint
 * @typedef {import("../format_types.js").Tie} Tie
 */

import { find } from "./document.js";
import { put } from "./edit.js";

/** More points than this are not taken in one tie: the format's own bound. */
export const MOST_POINTS = 12;

/** Kinds of item that a tie can hold. */
const KINDS = ["board", "device", "obstacle"];

/** An item's tie; where it has several the last counts. @param {PlateDocument} document @param {string} id @returns {Tie|null} */
export const tieOf = (document, id) => (document.ties ?? []).findLast((tie) => tie.item === id) ?? null;

/** @param {PlateDocument} document @param {Tie[]} ties */
const withTies = (document, ties) => put(document, ["ties"], ties.length ? ties : undefined);

/** Why an item cannot be tied; empty when it can, null when it is of no kind that is ever tied. @param {PlateDocument} document @param {string} id @returns {string|null} */
export function whyNotTied(document, id) {
  const found = find(document, id);
  if (!found || !KINDS.includes(found.kind)) return null;
  if (found.item.held_by) return `${found.item.held_by} holds it: tie ${found.item.held_by}.`;
  if ((document.survey?.outlines ?? []).some((outline) => outline.id === id))
    return "The survey draws its outline through points: it follows them as it is.";
  return (document.survey?.points ?? []).length ? "" : "The survey has no points yet.";
}

/**
 * An item tied to points, and to no others. The tie notes where these are now: from here on the item moves as they do.
 * @param {PlateDocument} document @param {string} id @param {string[]} points none: the tie is cut
 * @param {SurveyedPoint[]} [adjusted] the points as the survey has them now
 */
export function tied(document, id, points, adjusted = []) {
  const others = (document.ties ?? []).filter((tie) => tie.item !== id);
  if (!points.length) return withTies(document, others);
  const places = points.flatMap((name) => {
    const point = adjusted.find((one) => one.id === name);
    const known = point && !point.loose && point.x_mm !== null && point.y_mm !== null;
    return known ? [{ x_mm: Number(point.x_mm), y_mm: Number(point.y_mm) }] : [];
  });
  const tie = { item: id, points, ...(places.length === points.length ? { places } : {}) };
  return withTies(document, [...others, tie]);
}

/** Ties after a survey point has another name. @param {PlateDocument} document @param {string} from @param {string} to */
export const renamed = (document, from, to) =>
  (document.ties ?? []).some((tie) => tie.points.includes(from))
    ? withTies(
        document,
        (document.ties ?? []).map((tie) => ({ ...tie, points: tie.points.map((name) => (name === from ? to : name)) })),
      )
    : document;

/** Ties after a survey point is gone: they lose it, and one without points is cut. @param {PlateDocument} document @param {string} point */
export function withoutPoint(document, point) {
  const ties = document.ties ?? [];
  if (!ties.some((tie) => tie.points.includes(point))) return document;
  return withTies(
    document,
    ties
      .map((tie) => {
        const kept = (/** @type {unknown} */ _, /** @type {number} */ i) => tie.points[i] !== point;
        return {
          ...tie,
          points: tie.points.filter(kept),
          ...(tie.places ? { places: tie.places.filter(kept) } : {}),
        };
      })
      .filter((tie) => tie.points.length),
  );
}

/** What leans on a survey point besides readings and outlines. @param {PlateDocument} document @param {string} point */
export const tiedTo = (document, point) =>
  (document.ties ?? []).filter((tie) => tie.points.includes(point)).map((tie) => tie.item);
