/**
 * Several items at once: copies, mirror images, rows, alignment, even spacing. Pure functions; how far an item reaches
 * comes from the program's own shapes.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Kind} Kind
 * @typedef {import("../types.js").Outline} Outline
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").Box} Box
 * @typedef {Record<string, Box|null>} Extents  left, front, right, rear of items in plan, mm; null for one without a shape
 * @typedef {{axis: "x"|"y", at: number}} Line  axis "x" swaps left and right about x = at, "y" front and rear about y = at
 * @typedef {{from: string, to: string, kind: Kind}} Pair  an item and its copy
 */

import { DEFAULTS } from "../format.js";
import { withEnds } from "./dimensions.js";
import { find } from "./document.js";
import { byThemselves, withFollowers } from "./following.js";
import { ENDS, add, change, micro, move, movable, itemMoved, put, withCourse } from "./edit.js";

/**
 * Copies of the items, so far away; channels between copied ends join the copies.
 * @param {PlateDocument} document @param {string[]} ids @param {number} dx mm @param {number} dy mm
 */
export function copy(document, ids, dx, dy) {
  return copyBy(document, ids, (item, kind) => shifted(item, kind, dx, dy));
}

/**
 * @param {PlateDocument} document @param {string[]} ids @param {(item: Item, kind: Kind) => Item} place
 * @returns {{document: PlateDocument, ids: string[], pairs: Pair[]}}
 */
function copyBy(document, ids, place) {
  /** @type {Map<string, string>} */
  const names = new Map();
  /** @type {Pair[]} */
  const pairs = [];
  let next = document;
  // Channels and tubes last: their ends have to be there before them; before all what holds or leads others.
  const found = ids.flatMap((id) => {
    const one = find(document, id);
    return one && one.kind !== "group" ? [one] : [];
  });
  for (const { kind, item } of found.toSorted((a, b) => rank(document, a) - rank(document, b))) {
    // A copied port serves nothing yet, for one tube needs one port.
    const { id, locked, serves, ...values } = following(place(item, kind), item, names);
    const ended =
      kind === "channel"
        ? copiedChannel(document, values, names, place)
        : kind === "dimension"
          ? copiedDimension(values, names)
          : copiedTube(values, kind, names);
    const made = add(next, kind, ended);
    names.set(id, made.id);
    pairs.push({ from: id, to: made.id, kind });
    next = made.document;
  }
  return { document: next, ids: ids.map((id) => names.get(id)).filter((id) => id !== undefined), pairs };
}

/** In which turn an item is copied. @param {PlateDocument} document @param {{kind: Kind, item: Item}} one */
function rank(document, { kind, item }) {
  if (joins(kind)) return 20;
  if (item.cable) return 19;
  if (item.follows) return 18;
  let depth = 0;
  for (let holder = item.held_by; holder && depth < 16; depth += 1) holder = find(document, holder)?.item.held_by;
  return depth;
}

/**
 * A copy with what it goes by: the copies of that, when they are made too. Else what followed a thing stands by itself,
 * and a slot out of something else is a pocket.
 * @param {Item} copied @param {Item} item the first one @param {Map<string, string>} names @returns {Item}
 */
function following(copied, item, names) {
  const next = { ...copied };
  const holder = item.held_by ? names.get(item.held_by) : null;
  // Its place is in the holder's measure, and the same there.
  if (holder) Object.assign(next, { held_by: holder, x_mm: item.x_mm, y_mm: item.y_mm });
  const leader = next.follows ? names.get(next.follows.item) : null;
  if (next.follows) next.follows = leader ? { ...next.follows, item: leader } : undefined;
  const start = next.cable ? names.get(next.cable.start) : null;
  // Several strips may lead their cables into one cutout.
  const end = next.cable?.end ? (names.get(next.cable.end) ?? next.cable.end) : null;
  if (next.cable) next.cable = start ? { ...next.cable, start, ...(end ? { end } : {}) } : undefined;
  for (const key of /** @type {const} */ (["follows", "cable", "x_mm", "y_mm"])) if (next[key] === undefined) delete next[key];
  return next;
}

/** What ends at other items. @param {Kind} kind */
const joins = (kind) => kind === "channel" || kind === "tube" || kind === "dimension";

/** So far beside the first one lies a copy of a dimension line that measures the same, mm. */
const BESIDE_MM = 8;

/** A dimension line between the copies of what it measured. @param {Omit<Item, "id">} values @param {Map<string, string>} names @returns {Omit<Item, "id">} */
function copiedDimension(values, names) {
  const item = /** @type {Item} */ (values);
  const named = (/** @type {string} */ ref) => [names.get(ref.split(".")[0]) ?? ref.split(".")[0], ...ref.split(".").slice(1)].join(".");
  const other = [item.first, item.second].some((end) => end?.item && named(end.item) !== end.item);
  return { ...withEnds(item, named), ...(other ? {} : { offset_mm: (item.offset_mm ?? DEFAULTS.Dimension.offset_mm) + BESIDE_MM }) };
}

/** A tube that joins the copies of the devices it joined. @param {Omit<Item, "id">} tube @param {Kind} kind @param {Map<string, string>} names */
function copiedTube(tube, kind, names) {
  if (kind !== "tube") return tube;
  const next = { ...tube };
  for (const end of ENDS) {
    const [device, port] = (next[end] ?? "").split(".");
    next[end] = `${names.get(device) ?? device}.${port}`;
  }
  return next;
}

/**
 * A channel whose ends are the copies; an end that stays behind becomes a free point where it would have come to.
 * @param {PlateDocument} document @param {Omit<Item, "id">} channel @param {Map<string, string>} names @param {(item: Item, kind: Kind) => Item} place
 */
function copiedChannel(document, channel, names, place) {
  const next = { ...channel };
  for (const end of ENDS) {
    const id = next[end];
    if (!id) continue;
    const copied = names.get(id);
    if (copied) {
      next[end] = copied;
      continue;
    }
    delete next[end];
    const held = find(document, id);
    if (!held) continue;
    const { x_mm = 0, y_mm = 0 } = place(held.item, held.kind);
    const points = next.points ?? [];
    next.points = end === "start" ? [{ x_mm, y_mm }, ...points] : [...points, { x_mm, y_mm }];
  }
  return next;
}

/** @param {string} ref */
const same = (ref) => ref;

/** @param {Item} item @param {Kind} kind @param {number} dx @param {number} dy @returns {Item} */
function shifted(item, kind, dx, dy) {
  if (kind === "channel" || kind === "tube")
    return {
      ...item,
      points: (item.points ?? []).map((p) => ({ ...p, x_mm: micro(p.x_mm + dx), y_mm: micro(p.y_mm + dy) })),
    };
  if (kind === "dimension") return withEnds(item, same, ([x, y]) => [x + dx, y + dy]) ?? item;
  if (item.outline && kind !== "device") return itemMoved(item, kind, dx, dy);
  return { ...item, x_mm: micro((item.x_mm ?? 0) + dx), y_mm: micro((item.y_mm ?? 0) + dy) };
}

/**
 * A row of copies along a line: `count` in all, each `dx`, `dy` from the one before.
 * @param {PlateDocument} document @param {string[]} ids @param {number} count @param {number} dx @param {number} dy
 */
export function row(document, ids, count, dx, dy) {
  let next = document;
  /** @type {string[]} */
  const made = [];
  for (let i = 1; i < count; i += 1) {
    const copied = copyBy(next, ids, (item, kind) => shifted(item, kind, dx * i, dy * i));
    next = copied.document;
    made.push(...copied.ids);
  }
  return { document: next, ids: made };
}

/**
 * Mirror images of the items across a line. What a thing holds that is not mirrored too has none: it has its place there.
 * @param {PlateDocument} document @param {string[]} ids @param {Line} line
 */
export function mirror(document, ids, line) {
  const free = ids.filter((id) => {
    const holder = find(document, id)?.item.held_by;
    return !holder || ids.includes(holder);
  });
  return copyBy(document, free, (item, kind) => mirrored(item, kind, line));
}

/** What is to be known of mirror images: bodies keep their hand, and what is held stays. @param {PlateDocument} document @param {string[]} ids @param {Pair[]} pairs */
export function aboutMirrored(document, ids, pairs) {
  const turned = pairs.filter(({ kind }) => kind === "board" || kind === "device").map(({ to }) => to);
  const left = ids.filter((id) => find(document, id)?.item.held_by && !pairs.some(({ from }) => from === id));
  const are = (/** @type {string[]} */ names, /** @type {string} */ words, /** @type {string} */ many) => (names.length > 1 ? many : words);
  return [
    turned.length
      ? `${turned.join(", ")} ${are(turned, "is", "are")} turned to face the other way, not mirrored: a real part has no mirror image, so check on which side ${are(turned, "its", "their")} ports and connectors are now.`
      : "",
    left.length ? `${left.join(", ")} ${are(left, "stays: it is", "stay: they are")} held by what is not mirrored.` : "",
  ]
    .filter(Boolean)
    .join(" ");
}

/** An angle to 0 … 360, to the micro-degree. @param {number} deg */
const wrapped = (deg) => micro(((deg % 360) + 360) % 360);

/** @param {Item} item @param {Kind} kind @param {Line} line @returns {Item} */
function mirrored(item, kind, line) {
  const { axis } = line;
  if (kind === "channel" || kind === "tube")
    return { ...item, points: (item.points ?? []).map((p) => flipped(p, line)) };
  if (kind === "dimension")
    return withEnds(item, same, ([x, y]) => (axis === "x" ? [2 * line.at - x, y] : [x, 2 * line.at - y])) ?? item;
  if (kind === "board" || kind === "device") {
    // What it has to the rear stays to the rear (or what to the right, to the right): it is turned, for no body can
    // be made its own mirror image. What something holds moves with that.
    if (item.held_by) return item;
    const turn = item.turn_deg ?? 0;
    const turned = { ...flipped(item, line), turn_deg: wrapped(axis === "x" ? -turn : 180 - turn) };
    return item.roll_deg ? { ...turned, roll_deg: wrapped(-item.roll_deg) } : turned;
  }
  if (item.outline) return withCourse({ ...item, outline: mirroredOutline(item.outline, line) }, (p) => flipped(p, line));
  const next = flipped(item, line);
  const angle = (/** @type {number} */ deg) => wrapped(axis === "x" ? 180 - deg : -deg);
  if (typeof next.heading_deg === "number") next.heading_deg = angle(next.heading_deg);
  if (next.turn_deg) next.turn_deg = angle(next.turn_deg);
  return next;
}

/** A place across the line. @template {{x_mm?: number, y_mm?: number}} P @param {P} place @param {Line} line @returns {P} */
const flipped = (place, { axis, at }) =>
  axis === "x"
    ? { ...place, x_mm: micro(2 * at - (place.x_mm ?? 0)) }
    : { ...place, y_mm: micro(2 * at - (place.y_mm ?? 0)) };

/** @param {Outline} outline @param {Line} line @returns {Outline} */
function mirroredOutline(outline, line) {
  if (outline.shape === "polygon") {
    // Mirrored corners run the other way round, so each edge's arc goes with its other end.
    const reversed = outline.vertices.toReversed();
    const vertices = reversed.map((vertex, i) =>
      put(flipped(vertex, line), ["bulge"], reversed[(i + 1) % reversed.length].bulge || undefined),
    );
    return { ...outline, vertices };
  }
  if (outline.shape === "circle" || !outline.turn_deg) return flipped(outline, line);
  return {
    ...flipped(outline, line),
    turn_deg: wrapped(line.axis === "x" ? 180 - outline.turn_deg : -outline.turn_deg),
  };
}

/** What a body covers in plan and between which heights, mm. @typedef {{box: Box|null, heights: [number, number]|null}} Body */

/**
 * Mirrored boards and devices set so that what they cover mirrors what the first ones cover, at the same height: their
 * own corner need not be in the middle.
 * @param {PlateDocument} document @param {Pair[]} pairs @param {Line} line
 * @param {Record<string, Body>} before of the first ones @param {Record<string, Body>} after of the copies as they stand now
 */
export function mirroredOutlines(document, pairs, line, before, after) {
  return pairs.reduce((next, { from, to }) => {
    const [there, here] = [before[from], after[to]];
    if (!there.box || !here.box || find(next, to)?.item.held_by) return next;
    const [x, y] = middleOf(there.box);
    const wanted = line.axis === "x" ? [2 * line.at - x, y] : [x, 2 * line.at - y];
    const now = middleOf(here.box);
    const up = (there.heights?.[0] ?? 0) - (here.heights?.[0] ?? 0);
    return change(next, to, (item, kind) => {
      const moved = shifted(item, kind, wanted[0] - now[0], wanted[1] - now[1]);
      return Math.abs(up) > 1e-6 ? { ...moved, z_mm: micro((item.z_mm ?? 0) + up) } : moved;
    });
  }, document);
}

/** @param {Box} box @returns {Point} */
const middleOf = ([left, front, right, rear]) => [(left + right) / 2, (front + rear) / 2];

/** @typedef {"left"|"middle"|"right"|"front"|"centre"|"rear"} Side */

/** Items brought onto one line with the first of them. @param {PlateDocument} document @param {string[]} ids @param {Side} side @param {Extents} extents */
export function align(document, ids, side, extents) {
  const wanted = sideOf(extents, ids[0], side);
  if (wanted === null) return document;
  const along = side === "left" || side === "middle" || side === "right";
  return ids.slice(1).reduce((next, id) => {
    const at = sideOf(extents, id, side);
    if (at === null) return next;
    const by = micro(wanted - at);
    return move(next, withFollowers(next, [id]), along ? by : 0, along ? 0 : by);
  }, document);
}

/** @param {Extents} extents @param {string} id @param {Side} side */
function sideOf(extents, id, side) {
  const box = extents[id];
  if (!box) return null;
  const [left, front, right, rear] = box;
  const [middle, centre] = middleOf(box);
  return { left, right, front, rear, middle, centre }[side];
}

/** Items whose centres are spaced evenly between the two outermost. @param {PlateDocument} document @param {string[]} ids @param {"x"|"y"} axis @param {Extents} extents */
export function space(document, ids, axis, extents) {
  const side = axis === "x" ? "middle" : "centre";
  const placed = ids.flatMap((id) => {
    const [found, at] = [find(document, id), sideOf(extents, id, side)];
    return found && at !== null && movable(found.item, found.kind) && byThemselves(document, [id]).length ? [{ id, at }] : [];
  });
  if (placed.length < 3) return document;
  placed.sort((a, b) => a.at - b.at);
  const [first, last] = [placed[0].at, placed[placed.length - 1].at];
  return placed.reduce((next, { id, at }, i) => {
    const by = micro(first + ((last - first) * i) / (placed.length - 1) - at);
    return move(next, withFollowers(next, [id]), axis === "x" ? by : 0, axis === "y" ? by : 0);
  }, document);
}
