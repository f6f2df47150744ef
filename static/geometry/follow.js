/**
 * What has to change in a drawing so that it shows a newer document, until the server's own drawing lands: moved items
 * are shifted, channels get a new course, outlines a new shape, lost ones go, new ones get a stand-in. Pure: it says what, the stage does it.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Point} Point
 * @typedef {{moved: Map<string, Point>, turned: Map<string, Turn>, courses: Map<string, string>, shapes: Map<string, string>, gone: Set<string>, added: Map<string, string>, roots: Map<string, Point>, tubes: Map<string, string>}} Changes
 *   turned: boards and devices, with what they hold; tubes: straight lines from corner to corner, until the server has bent them
 * @typedef {{about: Point, deg: number, by: Point}} Turn  turned about a place, then moved
 * @typedef {Map<string, [import("../model/tubes.js").Place, import("../model/tubes.js").Place]>} Ends  of the tubes that are drawn, by the id that selects each
 */

import { KINDS, WHOLES, centreOf, cornersOf, find, itemsOf, radiiOf, placeOf } from "../model/document.js";
import { roughRadius } from "./hits.js";
import { tubeCorners, tubePoints } from "../model/tubes.js";
import { outlineData } from "./outline.js";
import { pathData } from "./path.js";

/**
 * @param {PlateDocument} drawn the document that the drawing shows @param {PlateDocument} now
 * @param {Map<string, Point>} drawnRoots where channels reach ports in the drawing, when that is not the port's place
 * @param {Ends} ends @returns {Changes}
 */
export function changesBetween(drawn, now, drawnRoots = new Map(), ends = new Map()) {
  /** @type {Changes} */
  const changes = {
    moved: new Map(),
    turned: new Map(),
    courses: new Map(),
    shapes: new Map(),
    gone: new Set(),
    added: new Map(),
    roots: new Map(drawnRoots),
    tubes: new Map(),
  };
  if (drawn === now) return changes;
  const hardware =
    itemsOf(drawn, "board") !== itemsOf(now, "board") || itemsOf(drawn, "device") !== itemsOf(now, "device");
  for (const { kind } of KINDS) {
    if (kind === "channel" || kind === "tube" || kind === "group" || kind === "dimension") continue;
    /** @type {Item[][]} */
    const [before, after] = [itemsOf(drawn, kind), itemsOf(now, kind)];
    const held = kind === "board" || kind === "device";
    if (before === after && !(held && hardware)) continue;
    const old = new Map(before.map((item) => [item.id, item]));
    for (const item of after) {
      const was = old.get(item.id);
      old.delete(item.id);
      if (!was) {
        changes.added.set(item.id, standIn(kind, item));
        continue;
      }
      if (held) {
        carried(drawn, now, item.id, changes);
        continue;
      }
      if (was === item) continue;
      if (item.outline && was.outline && !sameShape(was.outline, item.outline)) {
        changes.shapes.set(item.id, outlineData(item.outline));
        continue;
      }
      const [a, b] = [centreOf(drawn, item.id), centreOf(now, item.id)];
      if (!a || !b || (Math.abs(a[0] - b[0]) < 1e-9 && Math.abs(a[1] - b[1]) < 1e-9)) continue;
      changes.moved.set(item.id, [b[0] - a[0], b[1] - a[1]]);
      const root = drawnRoots.get(item.id);
      if (root) changes.roots.set(item.id, [root[0] + b[0] - a[0], root[1] + b[1] - a[1]]);
    }
    for (const id of old.keys()) changes.gone.add(id);
  }
  for (const id of /** @type {(keyof typeof WHOLES)[]} */ (Object.keys(WHOLES)))
    if (drawn[id] && now[id] && drawn[id].outline !== now[id].outline)
      changes.shapes.set(id, outlineData(now[id].outline));
  courses(drawn, now, drawnRoots, changes);
  tubes(drawn, now, ends, changes);
  // Dimension lines wait for the server; one that is gone goes at once.
  const kept = new Set((now.dimensions ?? []).map(({ id }) => id));
  for (const { id } of drawn.dimensions ?? []) if (!kept.has(id)) changes.gone.add(id);
  return changes;
}

/**
 * How a board or a device comes along. What holds it, directly or by way of others, carries it; its own place in a holder is
 * in the holder's axes, which only the server knows: when that changes, or who holds it, it stays until the server has drawn it.
 * @param {PlateDocument} drawn @param {PlateDocument} now @param {string} id @param {Changes} changes
 */
function carried(drawn, now, id, changes) {
  let [was, is] = [find(drawn, id)?.item, find(now, id)?.item];
  for (let left = HOLDERS; is?.held_by && left; left -= 1) {
    if (!was || PLACE.some((key) => was?.[key] !== is?.[key])) return;
    [was, is] = [find(drawn, is.held_by)?.item, find(now, is.held_by)?.item];
  }
  if (!was || !is || was === is || was.held_by || is.held_by || was.posture !== is.posture || was.roll_deg !== is.roll_deg) return;
  const [a, b] = [placeOf(was), placeOf(is)];
  /** @type {Point} */
  const by = [b[0] - a[0], b[1] - a[1]];
  const deg = (is.turn_deg ?? 0) - (was.turn_deg ?? 0);
  if (deg) changes.turned.set(id, { about: a, deg, by });
  else if (Math.hypot(...by) > 1e-9) changes.moved.set(id, by);
}

/** What says where a held thing is on its holder. @type {readonly (keyof Item)[]} */
const PLACE = ["held_by", "slot", "x_mm", "y_mm", "z_mm", "turn_deg", "roll_deg", "posture"];
/** More holders above each other than this are none. */
const HOLDERS = 12;

/** Tubes whose corners or ends have moved. @param {PlateDocument} drawn @param {PlateDocument} now @param {Ends} ends @param {Changes} changes */
function tubes(drawn, now, ends, changes) {
  for (const [id, [start, end]] of ends) {
    const [before, after] = [tubePoints(drawn, id), tubePoints(now, id)];
    if (!after) {
      // A port that serves nothing any more stays; a tube that is gone goes.
      if (find(now, id)) changes.tubes.set(id, "");
      else changes.gone.add(id);
      continue;
    }
    const item = find(now, id)?.item;
    const [first, last] = item?.serves ? [id, deviceOf(item.serves)] : [deviceOf(item?.start), deviceOf(item?.end)];
    const ends = carries(changes, first) || carries(changes, last);
    if (JSON.stringify(before) === JSON.stringify(after) && !ends) continue;
    const corners = tubeCorners(now, id, [placed(changes, first, start), placed(changes, last, end)]);
    changes.tubes.set(id, `M${corners.map(([x, y]) => `${x} ${y}`).join("L")}`);
  }
}

/** @param {string|null|undefined} ref */
const deviceOf = (ref) => (ref ?? "").split(".")[0];

/** @param {Changes} changes @param {string} id */
const carries = ({ moved, turned }, id) => moved.has(id) || turned.has(id);

/** Where the end of a tube has come to with what it is on. @param {Changes} changes @param {string} id @param {import("../model/tubes.js").Place} place @returns {import("../model/tubes.js").Place} */
function placed({ moved, turned }, id, [x, y, z]) {
  const turn = turned.get(id);
  if (turn) {
    const [c, s] = [Math.cos((turn.deg * Math.PI) / 180), Math.sin((turn.deg * Math.PI) / 180)];
    const [dx, dy] = [x - turn.about[0], y - turn.about[1]];
    return [turn.about[0] + c * dx - s * dy + turn.by[0], turn.about[1] + s * dx + c * dy + turn.by[1], z];
  }
  const by = moved.get(id) ?? [0, 0];
  return [x + by[0], y + by[1], z];
}

/** Whether two outlines differ by no more than their place. @param {import("../types.js").Outline} a @param {import("../types.js").Outline} b */
function sameShape(a, b) {
  if (a === b) return true;
  if (a.shape !== b.shape) return false;
  if (a.shape !== "polygon" || b.shape !== "polygon") {
    const keys = new Set([...Object.keys(a), ...Object.keys(b)]);
    return [...keys].every(
      (key) => key === "x_mm" || key === "y_mm" || Reflect.get(a, key) === Reflect.get(b, key),
    );
  }
  if (a.vertices.length !== b.vertices.length) return false;
  const [dx, dy] = [b.vertices[0].x_mm - a.vertices[0].x_mm, b.vertices[0].y_mm - a.vertices[0].y_mm];
  return a.vertices.every((v, i) => {
    const w = b.vertices[i];
    return (
      Math.abs(w.x_mm - v.x_mm - dx) < 1e-5 &&
      Math.abs(w.y_mm - v.y_mm - dy) < 1e-5 &&
      (v.bulge ?? 0) === (w.bulge ?? 0) &&
      (v.corner_radius_mm ?? 0) === (w.corner_radius_mm ?? 0)
    );
  });
}

/** @param {PlateDocument} drawn @param {PlateDocument} now @param {Map<string, Point>} drawnRoots @param {Changes} changes */
function courses(drawn, now, drawnRoots, changes) {
  const old = new Map(itemsOf(drawn, "channel").map((item) => [item.id, item]));
  const ends = changes.moved.size > 0 || changes.gone.size > 0 || changes.added.size > 0;
  for (const channel of itemsOf(now, "channel")) {
    const was = old.get(channel.id);
    old.delete(channel.id);
    if (was === channel && !(ends && (changes.moved.has(channel.start ?? "") || changes.moved.has(channel.end ?? ""))))
      continue;
    const data = pathData(cornersOf(now, channel, changes.roots), radiiOf(channel));
    if (!was) changes.added.set(channel.id, data);
    else if (data !== pathData(cornersOf(drawn, was, drawnRoots), radiiOf(was)) || was.width_mm !== channel.width_mm)
      changes.courses.set(channel.id, data);
  }
  for (const id of old.keys()) changes.gone.add(id);
}

/** A plain outline for an item that the server has not drawn yet. @param {import("../types.js").Kind} kind @param {Item} item */
export function standIn(kind, item) {
  if (item.outline && kind !== "device") return outlineData(item.outline);
  return circlePath(placeOf(item), roughRadius(kind, item));
}

/** @param {Point} centre @param {number} radius */
export function circlePath([x, y], radius) {
  return `M${x + radius} ${y}A${radius} ${radius} 0 0 1 ${x - radius} ${y}A${radius} ${radius} 0 0 1 ${x + radius} ${y}Z`;
}
