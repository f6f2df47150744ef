/**
 * Dimension lines in a document: what their ends name, made and changed by pure functions. Values come from the server.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").Outline} Outline
 * @typedef {import("../format_types.js").DimensionEnd} End
 * @typedef {"aligned"|"horizontal"|"vertical"} Direction
 */

import { DEFAULTS } from "../format.js";
import { edgeAt } from "../geometry/outline.js";
import { distance, nearestOn } from "../geometry/path.js";
import { cornersOf, everyItem, find, isWhole, itemsOf, outlineCentre, outlineCorners, outlineOf, placeOf } from "./document.js";
import { micro } from "./edit.js";

/** A place that is snapped to is the place itself, mm. */
const SAME_MM = 0.02;

/** What an end is called in a sentence. @param {End|null|undefined} end */
export function endWords(end) {
  if (!end?.item) return `the point ${micro(end?.x_mm ?? 0)}, ${micro(end?.y_mm ?? 0)}`;
  if (!end.part || end.part === "centre") return end.item.includes(".") ? end.item : `the centre of ${end.item}`;
  return `${end.part === "edge" ? "an edge" : "a corner"} of ${end.item}`;
}

/** The ends changed by what they name and by where fixed points are. @param {Item} item @param {(ref: string) => string|null} named @param {(point: Point) => Point} [moved] @returns {Item|null} null when an end names nothing any more */
export function withEnds(item, named, moved = (point) => point) {
  const ends = [item.first, item.second].map((end) => {
    if (end?.item) {
      const ref = named(end.item);
      return ref ? { ...end, item: ref } : null;
    }
    const [x, y] = moved(placeOf(end ?? {}));
    return { ...end, x_mm: micro(x), y_mm: micro(y) };
  });
  return ends[0] && ends[1] ? { ...item, first: ends[0], second: ends[1] } : null;
}

/** @typedef {{end: End, away: number}} Near */

/**
 * What a place clicked on the plan refers to: a centre or a corner that it is right on, else the nearest edge within
 * reach, else the place itself.
 * @param {PlateDocument} document @param {Point} point mm, snapped @param {number} reach mm
 * @param {{drops?: {label: string, point: Point}[], boxes?: Map<string, import("../types.js").Box>, hidden?: (kind: string) => boolean}} [known]
 *   drops: where device ports are; boxes: of boards and devices as they are drawn; hidden: whether a kind cannot be seen
 * @returns {End}
 */
export function endAt(document, point, reach, { drops = [], boxes = new Map(), hidden = () => false } = {}) {
  const on = (/** @type {Point} */ p) => distance(p, point) <= SAME_MM;
  for (const kind of /** @type {const} */ (["port", "hole", "branch"])) {
    const item = hidden(kind) ? null : itemsOf(document, kind).find((one) => on(placeOf(one)));
    if (item) return { item: item.id };
  }
  const drop = drops.find((one) => on(one.point));
  if (drop) return { item: drop.label };
  const outlines = outlinesOf(document, hidden);
  for (const { id, outline } of outlines) {
    const index = outline.shape === "circle" ? -1 : outlineCorners(outline).findIndex(on);
    if (index >= 0) return { item: id, part: "corner", index };
    if (!isWhole(document, id) && on(outlineCentre(outline))) return { item: id };
  }
  const near = [...edges(document, outlines, point, reach, hidden), ...boxEdges(boxes, point, reach)];
  const best = near.sort((a, b) => a.away - b.away)[0];
  return best?.end ?? { x_mm: micro(point[0]), y_mm: micro(point[1]) };
}

/** @param {PlateDocument} document @param {(kind: string) => boolean} hidden @returns {{id: string, outline: Outline}[]} */
function outlinesOf(document, hidden) {
  const ids = everyItem(document)
    .filter(({ kind, item }) => item.outline && kind !== "device" && !hidden(kind))
    .map(({ item }) => item.id);
  return [...ids, "plate", "floor"].flatMap((id) => {
    const outline = outlineOf(document, id);
    return outline ? [{ id, outline }] : [];
  });
}

/** @param {PlateDocument} document @param {{id: string, outline: Outline}[]} outlines @param {Point} point @param {number} reach @param {(kind: string) => boolean} hidden @returns {Near[]} */
function edges(document, outlines, point, reach, hidden) {
  /** @type {Near[]} */
  const found = [];
  const round = (/** @type {string} */ id, /** @type {Point} */ centre, /** @type {number} */ radius) => {
    const away = Math.abs(distance(centre, point) - radius);
    if (away <= reach) found.push({ end: { item: id, part: "edge", index: 0 }, away });
  };
  for (const { id, outline } of outlines) {
    if (outline.shape === "circle") round(id, [outline.x_mm, outline.y_mm], outline.diameter_mm / 2);
    const edge = edgeAt(outline, point, reach);
    if (edge) found.push({ end: { item: id, part: "edge", index: edge.index }, away: edge.away });
  }
  if (!hidden("hole"))
    for (const hole of itemsOf(document, "hole")) if (hole.diameter_mm) round(hole.id, placeOf(hole), hole.diameter_mm / 2);
  if (hidden("channel")) return found;
  for (const channel of itemsOf(document, "channel")) {
    const corners = cornersOf(document, /** @type {Item} */ (channel));
    for (let i = 0; i + 1 < corners.length; i += 1) {
      const off = distance(point, nearestOn(point, corners[i], corners[i + 1]));
      const away = Math.abs(off - channel.width_mm / 2);
      if (away <= reach) found.push({ end: { item: channel.id, part: "edge", index: 0 }, away });
    }
  }
  return found;
}

/** @param {Map<string, import("../types.js").Box>} boxes left, front, right, rear @param {Point} point @param {number} reach @returns {Near[]} */
const boxEdges = (boxes, point, reach) =>
  [...boxes].flatMap(([id, [left, front, right, rear]]) => {
    /** @type {Point[]} */
    const corners = [
      [left, front],
      [right, front],
      [right, rear],
      [left, rear],
    ];
    return corners
      .map((a, index) => ({
        end: /** @type {End} */ ({ item: id, part: "edge", index }),
        away: distance(point, nearestOn(point, a, corners[(index + 1) % 4])),
      }))
      .filter(({ away }) => away <= reach);
  });

/** How far a drag of a dimension line moves it off, mm to half a millimetre. @param {Item} item @param {Point} first its first end and @param {Point} second its second, as they are drawn @param {number} dx @param {number} dy */
export const pulledOff = (item, first, second, dx, dy) =>
  Math.round(((item.offset_mm ?? DEFAULTS.Dimension.offset_mm) + along(item, first, second, dx, dy)) * 2) / 2;

/** How much of a move goes along the way in which a dimension line stands off, mm. @param {Item} item @param {Point} first @param {Point} second @param {number} dx @param {number} dy */
export function along(item, first, second, dx, dy) {
  const [ux, uy] = direction(item, first, second);
  return dx * ux + dy * uy;
}

/** Which way a dimension line stands off what it measures. @param {Item} item @param {Point} first @param {Point} second @returns {Point} */
function direction(item, first, second) {
  if (item.direction === "horizontal") return [0, 1];
  if (item.direction === "vertical") return [1, 0];
  const size = distance(first, second);
  return size > 1e-9 ? [-(second[1] - first[1]) / size, (second[0] - first[0]) / size] : [0, 1];
}

/** An outline gained or lost a corner: numbers of edges and corners behind it follow. @param {PlateDocument} document @param {string} id @param {Outline} before @param {Outline} after @returns {PlateDocument} */
export function renumbered(document, id, before, after) {
  if (!document.dimensions?.length || before.shape !== "polygon" || after.shape !== "polygon") return document;
  const by = after.vertices.length - before.vertices.length;
  if (Math.abs(by) !== 1) return document;
  const same = (/** @type {number} */ i) =>
    before.vertices[i] && after.vertices[i] && distance(placeOf(before.vertices[i]), placeOf(after.vertices[i])) < 1e-6;
  let at = 0;
  while (same(at)) at += 1;
  const moved = (/** @type {End|undefined} */ end) =>
    end?.item === id && (end.index ?? 0) >= at && end.part !== "centre" && end.part
      ? { ...end, index: Math.max(0, (end.index ?? 0) + by) }
      : end;
  return {
    ...document,
    dimensions: document.dimensions.map((one) => ({ ...one, first: moved(one.first), second: moved(one.second) })),
  };
}

/** @param {PlateDocument} document @param {string} id @returns {Item|null} */
export const dimensionOf = (document, id) => {
  const found = find(document, id);
  return found?.kind === "dimension" ? found.item : null;
};
