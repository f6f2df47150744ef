/**
 * Editing the course of channels. Pure functions.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Point} Point
 */

import { DEFAULTS } from "../format.js";
import { add, change, micro, put } from "./edit.js";
import { cornersOf, find, itemsOf } from "./document.js";
import { distance, nearestOn } from "../geometry/path.js";

/** @param {Point} point */
const place = ([x, y]) => ({ x_mm: micro(x), y_mm: micro(y) });

/** A point put in before the one at `index`. @param {PlateDocument} document @param {string} id @param {number} index @param {Point} point */
export function insertPoint(document, id, index, point) {
  return change(document, id, (channel) => {
    const points = [...(channel.points ?? [])];
    points.splice(index, 0, place(point));
    return { ...channel, points };
  });
}

/** @param {PlateDocument} document @param {string} id @param {number} index @param {Point} point */
export function movePoint(document, id, index, point) {
  return change(document, id, (channel) =>
    put(channel, ["points", index], { ...channel.points?.[index], ...place(point) }),
  );
}

/** A point taken out; the last two places of a channel stay. @param {PlateDocument} document @param {string} id @param {number} index */
export function removePoint(document, id, index) {
  return change(document, id, (channel) => {
    const points = (channel.points ?? []).filter((_, i) => i !== index);
    const places = points.length + (channel.start ? 1 : 0) + (channel.end ? 1 : 0);
    return places < 2 ? channel : { ...channel, points };
  });
}

/** Where on its course a new point would go in, and its place. @param {PlateDocument} document @param {string} id @param {Point} near @param {Map<string, Point>} [roots] @returns {{index: number, point: Point, away: number}|null} */
export function placeOnCourse(document, id, near, roots) {
  const channel = find(document, id)?.item;
  if (!channel) return null;
  const corners = cornersOf(document, channel, roots);
  let best = null;
  for (let i = 0; i + 1 < corners.length; i += 1) {
    const point = nearestOn(near, corners[i], corners[i + 1]);
    const away = distance(near, point);
    if (!best || away < best.away) best = { index: i + (channel.start ? 0 : 1), point, away };
  }
  return best;
}

/**
 * A point moved so that the legs on both its sides run along the axes (`square`) or at 45 degrees to one (`slant`),
 * keeping near where it is.
 * @param {PlateDocument} document @param {string} id @param {number} index @param {"square"|"slant"} manner @param {Map<string, Point>} [roots]
 */
export function straighten(document, id, index, manner, roots) {
  const channel = find(document, id)?.item;
  if (!channel) return document;
  const corners = cornersOf(document, channel, roots);
  const at = index + (channel.start ? 1 : 0);
  const [a, p, b] = [corners[at - 1], corners[at], corners[at + 1]];
  if (!p) return document;
  const candidates = candidatesFor(a, p, b, manner);
  if (!candidates.length) return document;
  const nearest = candidates.reduce((best, c) => (distance(p, c) < distance(p, best) ? c : best));
  return movePoint(document, id, index, nearest);
}

/** @param {Point|undefined} a @param {Point} p @param {Point|undefined} b @param {"square"|"slant"} manner @returns {Point[]} */
function candidatesFor(a, p, b, manner) {
  if (!a || !b) {
    const end = a ?? b;
    return end ? [along(end, p, manner === "square" ? 90 : 45)] : [];
  }
  if (manner === "square")
    return [
      [a[0], b[1]],
      [b[0], a[1]],
    ];
  // One leg along an axis, the other at 45 degrees: the four meeting places of the two.
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const [sx, sy] = [Math.sign(dx) || 1, Math.sign(dy) || 1];
  const reach = Math.min(Math.abs(dx), Math.abs(dy));
  return [
    [a[0] + sx * reach, a[1] + sy * reach],
    [b[0] - sx * reach, b[1] - sy * reach],
  ];
}

/** A point brought onto the nearest of the directions a multiple of `step` degrees from another. @param {Point} from @param {Point} to @param {number} step @returns {Point} */
export function along(from, to, step) {
  const angle = Math.atan2(to[1] - from[1], to[0] - from[0]);
  const wanted = (Math.round((angle * 180) / Math.PI / step) * step * Math.PI) / 180;
  const [c, s] = [tidyTrig(Math.cos(wanted)), tidyTrig(Math.sin(wanted))];
  const reach = (to[0] - from[0]) * c + (to[1] - from[1]) * s;
  return [from[0] + reach * c, from[1] + reach * s];
}

/** @param {number} value */
const tidyTrig = (value) =>
  Math.abs(value) < 1e-12 ? 0 : Math.abs(Math.abs(value) - 1) < 1e-12 ? Math.sign(value) : value;

/**
 * A channel drawn through places; each is a port's or a branch's id, or a free point. Width and depth are as the last
 * channel's.
 * @param {PlateDocument} document @param {(string|Point)[]} places
 * @returns {{document: PlateDocument, id: string}|null} null when there are not two places
 */
export function draw(document, places) {
  if (places.length < 2) return null;
  const [first, end] = [places[0], places[places.length - 1]];
  /** @type {Item} */
  const values = {};
  if (typeof first === "string") values.start = first;
  if (typeof end === "string") values.end = end;
  const inner = places.slice(typeof first === "string" ? 1 : 0, typeof end === "string" ? -1 : undefined);
  values.points = inner.map((p) => {
    if (typeof p !== "string") return place(p);
    const item = find(document, p)?.item;
    return { x_mm: item?.x_mm ?? 0, y_mm: item?.y_mm ?? 0 };
  });
  if (values.start && values.start === values.end && values.points.length < 2) return null;
  return add(document, "channel", {
    ...values,
    ...likeLast(document),
  });
}

/** What a new channel is like: as the last one. @param {PlateDocument} document */
export function likeLast(document) {
  const last = itemsOf(document, "channel").at(-1);
  return {
    width_mm: last?.width_mm ?? 10,
    depth_mm: last?.depth_mm ?? 8,
    bend_radius_mm: last?.bend_radius_mm ?? DEFAULTS.Channel.bend_radius_mm,
  };
}

/**
 * A branch put into a channel: it becomes two channels that meet there.
 * @param {PlateDocument} document @param {string} id @param {Point} near @param {Map<string, Point>} [roots]
 * @returns {{document: PlateDocument, id: string}|null} the branch's id
 */
export function branchAt(document, id, near, roots) {
  const channel = find(document, id)?.item;
  const spot = placeOnCourse(document, id, near, roots);
  if (!channel || !spot) return null;
  const made = add(document, "branch", place(spot.point));
  const points = channel.points ?? [];
  const first = { ...channel, points: points.slice(0, spot.index), end: made.id };
  const { id: _, name, start, ...rest } = channel;
  const second = { ...rest, points: points.slice(spot.index), start: made.id };
  const shortened = change(made.document, id, () => first);
  return { document: add(shortened, "channel", second).document, id: made.id };
}
