/** The handles of what is selected: corners, bends and sizes of one item, a sign at each of several. */

import { s } from "../dom.js";
import { distance, rounded } from "../geometry/path.js";
import { toScreen } from "../geometry/view.js";
import { cornersOf, find, outlineCorners, placeOf, radiiOf } from "../model/document.js";
import { format } from "../model/quantity.js";
import { label } from "./signs.js";

/**
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").State} State
 */

/** A leg shorter than this on the screen has no room for a sign that adds a corner, px. */
const SHORT_LEG = 56;

/** @param {State} state @param {PlateDocument} document @param {Map<string, Point>} roots @returns {SVGElement[]} */
export function drawHandles(state, document, roots) {
  const { selection, spot, view } = state;
  if (selection.length !== 1) return selection.flatMap((id) => selectedSign(state, document, id));
  const found = find(document, selection[0]);
  if (!found || found.item.locked) return [];
  if (found.kind === "channel") return channelHandles(state, found.item, cornersOf(document, found.item, roots));
  if (found.kind === "device" || !found.item.outline) return [];
  const { outline } = found.item;
  const kind = outline.shape === "polygon" ? "vertex" : "size";
  return outlineCorners(outline).map((p, i) =>
    handle(kind, i, toScreen(view, p), kind === "vertex" && spot?.index === i),
  );
}

/** A tick beside an item that is one of several. @param {State} state @param {PlateDocument} document @param {string} id */
function selectedSign({ view }, document, id) {
  const found = find(document, id);
  if (!found) return [];
  const { kind, item } = found;
  const corners =
    kind === "channel"
      ? cornersOf(document, item)
      : item.outline && kind !== "device"
        ? outlineCorners(item.outline)
        : [placeOf(item)];
  return corners.slice(0, 1).map((corner) => {
    const [x, y] = toScreen(view, corner);
    return s("path.selected-sign", { d: "M-4 0L-1 3L5 -4", transform: `translate(${x - 10} ${y - 10})` });
  });
}

/** @param {State} state @param {Item} channel @param {Point[]} corners */
function channelHandles({ view, spot, unit }, channel, corners) {
  const bends = rounded(corners, radiiOf(channel));
  const offset = channel.start ? 1 : 0;
  const made = bends
    .slice(1)
    .flatMap((bend, i) => plus(toScreen(view, bends[i].to), toScreen(view, bend.from), i + 1 - offset));
  (channel.points ?? []).forEach((point, i) => {
    const bend = bends[i + offset];
    const chosen = spot?.id === channel.id && spot.index === i;
    if (bend.radius > 0.01)
      made.push(...bendHandle(toScreen(view, arcMiddle(bend)), i, chosen ? `R ${format(bend.radius, unit, 2)}` : ""));
    made.push(handle("corner", i, toScreen(view, placeOf(point)), chosen));
  });
  return made;
}

/** What puts a corner into a leg, in its middle. @param {Point} a px @param {Point} b px @param {number} index */
function plus(a, b, index) {
  if (distance(a, b) <= SHORT_LEG) return [];
  return [
    s(
      "g.handle.add-corner",
      { transform: `translate(${(a[0] + b[0]) / 2} ${(a[1] + b[1]) / 2})`, dataset: { handle: "insert", index } },
      s("circle.target", { r: 12 }),
      s("path", { d: "M-5 0H5M0 -5V5" }),
    ),
  ];
}

/** The handle of a bend's radius, in the middle of its arc. @param {Point} at px @param {number} index @param {string} words */
function bendHandle([x, y], index, words) {
  const made = s(
    "g.handle.bend",
    { transform: `translate(${x} ${y})`, dataset: { handle: "bend", index } },
    s("circle.target", { r: 12 }),
    s("path", { d: "M0 -5L5 0L0 5L-5 0Z" }),
  );
  return words ? [made, label(words, [x, y + 24])] : [made];
}

/** @param {import("../geometry/path.js").Bend} bend @returns {Point} */
function arcMiddle({ corner, from, to, radius, turn }) {
  /** @type {Point} */
  const middle = [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2];
  const reach = distance(corner, middle) || 1;
  const inward = radius / Math.cos(Math.abs(turn) / 2) - radius;
  return [
    corner[0] + ((middle[0] - corner[0]) / reach) * inward,
    corner[1] + ((middle[1] - corner[1]) / reach) * inward,
  ];
}

/** @param {string} kind @param {number} index @param {Point} at px @param {boolean} chosen */
const handle = (kind, index, [x, y], chosen) =>
  s(
    `g.handle.${kind}${chosen ? ".chosen" : ""}`,
    { transform: `translate(${x} ${y})`, dataset: { handle: kind, index } },
    s("circle.target", { r: 12 }),
    s("circle.knob", { r: 5 }),
  );
