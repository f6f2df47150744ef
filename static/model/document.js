/**
 * Reading a plate document: its items by kind, and where each stands.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").Kind} Kind
 * @typedef {import("../types.js").Outline} Outline
 * @typedef {import("../format.js").KindInfo} KindInfo
 */

import { DEFAULTS, KINDS } from "../format.js";

export { KINDS };

const byKind = new Map(KINDS.map((info) => [info.kind, info]));

/** @param {Kind} kind @returns {KindInfo} */
export function kindInfo(kind) {
  const found = byKind.get(kind);
  if (!found) throw new Error(`no kind of item is called ${kind}`);
  return found;
}

/**
 * The items of a kind; of a kind that is not known beforehand, items with every key of every kind.
 * @template {Kind} K
 * @param {PlateDocument} document @param {K} kind
 * @returns {(Kind extends K ? Item : import("../types.js").Kinds[K])[]}
 */
export function itemsOf(document, kind) {
  /** @type {any} any: a part of the document that the kind's path leads to */
  let part = document;
  for (const key of kindInfo(kind).path) part = part?.[key];
  return part ?? [];
}

/** Every item with its kind, in the order of the kinds. @param {PlateDocument} document @returns {{kind: Kind, item: Item}[]} */
export const everyItem = (document) =>
  KINDS.flatMap(({ kind }) => itemsOf(document, kind).map((item) => ({ kind, item })));

/** @param {PlateDocument} document @param {string|null|undefined} id @returns {{kind: Kind, index: number, item: Item}|null} */
export function find(document, id) {
  for (const { kind } of KINDS) {
    const items = itemsOf(document, kind);
    const index = items.findIndex((item) => item.id === id);
    if (index >= 0) return { kind, index, item: items[index] };
  }
  return null;
}

/** The plate and the floor have an outline and are selected like an item, though neither stands in a list. */
export const WHOLES = Object.freeze({ plate: "Plate", floor: "Floor" });

/** Whether an id names the plate or the floor: an item that took such a word for its id comes first. @param {PlateDocument} document @param {string} id @returns {id is keyof typeof WHOLES} */
export const isWhole = (document, id) => Object.hasOwn(WHOLES, id) && !find(document, id);

/** Whether there is anything of this id to select. @param {PlateDocument} document @param {string} id */
export const selectable = (document, id) => Boolean(find(document, id)) || Object.hasOwn(WHOLES, id);

/** The outline that is drawn by hand under an id; a device's is in its own axes and is none of these. @param {PlateDocument} document @param {string} id @returns {Outline|null} */
export function outlineOf(document, id) {
  const found = find(document, id);
  if (found) return found.kind === "device" ? null : (found.item.outline ?? null);
  return isWhole(document, id) ? document[id].outline : null;
}

/** A new id of a kind: never one that is in use or was. @param {PlateDocument} document @param {Kind} kind */
export function newId(document, kind) {
  const { letter } = kindInfo(kind);
  const taken = new Set(document.retired_ids ?? []);
  for (const { item } of everyItem(document)) taken.add(item.id);
  let highest = 0;
  for (const id of taken) {
    const match = new RegExp(`^${letter}(\\d+)$`).exec(id);
    if (match) highest = Math.max(highest, Number(match[1]));
  }
  return `${letter}${highest + 1}`;
}

/** Where an item stands by its own numbers, mm; what a document leaves out is 0. @param {{x_mm?: number|null, y_mm?: number|null}} item @returns {Point} */
export const placeOf = (item) => [item.x_mm ?? 0, item.y_mm ?? 0];

/** The middle of an item, mm, or null for one that has no place of its own. @param {PlateDocument} document @param {string} id @returns {Point|null} */
export function centreOf(document, id) {
  const found = find(document, id);
  if (!found) return isWhole(document, id) ? outlineCentre(document[id].outline) : null;
  const { kind, item } = found;
  if (item.outline && kind !== "device") return outlineCentre(item.outline);
  if (kind === "channel") {
    const corners = cornersOf(document, item);
    if (!corners.length) return null;
    const at = Math.floor((corners.length - 1) / 2);
    const [a, b] = [corners[at], corners[Math.min(at + 1, corners.length - 1)]];
    return [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  }
  if (kind === "group") {
    const places = /** @type {Point[]} */ ((item.members ?? []).map((m) => centreOf(document, m)).filter(Boolean));
    if (!places.length) return null;
    return [mean(places.map((p) => p[0])), mean(places.map((p) => p[1]))];
  }
  if (kind === "tube") {
    const places = (item.points ?? []).map(placeOf);
    const ends = [item.start, item.end].flatMap((ref) => centreOf(document, (ref ?? "").split(".")[0]) ?? []);
    if (places.length) return places[Math.floor(places.length / 2)];
    return ends.length === 4 ? [(ends[0] + ends[2]) / 2, (ends[1] + ends[3]) / 2] : null;
  }
  // Where a dimension line is depends on shapes that only the server works out.
  if (kind === "dimension") return null;
  if (item.held_by) return centreOf(document, item.held_by);
  return placeOf(item);
}

/** @param {number[]} values */
const mean = (values) => values.reduce((a, b) => a + b, 0) / values.length;

/** @param {Outline} outline @returns {Point} */
export function outlineCentre(outline) {
  if (outline.shape !== "polygon") return [outline.x_mm, outline.y_mm];
  const xs = outline.vertices.map((v) => v.x_mm);
  const ys = outline.vertices.map((v) => v.y_mm);
  return [(Math.min(...xs) + Math.max(...xs)) / 2, (Math.min(...ys) + Math.max(...ys)) / 2];
}

/** Corners of an outline in order, mm: of a round one its four quarter points. @param {Outline} outline @returns {Point[]} */
export function outlineCorners(outline) {
  if (outline.shape === "polygon") return outline.vertices.map(placeOf);
  if (outline.shape === "circle") {
    const r = outline.diameter_mm / 2;
    return [
      [outline.x_mm - r, outline.y_mm],
      [outline.x_mm, outline.y_mm - r],
      [outline.x_mm + r, outline.y_mm],
      [outline.x_mm, outline.y_mm + r],
    ];
  }
  const [w, d] =
    outline.shape === "slot" ? [outline.length_mm, outline.width_mm] : [outline.width_mm, outline.depth_mm];
  const turn = ((outline.turn_deg ?? DEFAULTS.Rectangle.turn_deg) * Math.PI) / 180;
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  return [
    [-w / 2, -d / 2],
    [w / 2, -d / 2],
    [w / 2, d / 2],
    [-w / 2, d / 2],
  ].map(([x, y]) => [outline.x_mm + c * x - s * y, outline.y_mm + s * x + c * y]);
}

/** Where channels reach a port or a branch, mm. @param {PlateDocument} document @param {string} id @param {Map<string, Point>} [roots] as the drawing has them @returns {Point|null} */
export function rootOf(document, id, roots) {
  const drawn = roots?.get(id);
  if (drawn) return drawn;
  const found = find(document, id);
  return found ? placeOf(found.item) : null;
}

/** Corners of a channel's centreline, its ends at ports and branches included. @param {PlateDocument} document @param {Item} channel @param {Map<string, Point>} [roots] @returns {Point[]} */
export function cornersOf(document, channel, roots) {
  const corners = (channel.points ?? []).map(placeOf);
  const start = channel.start ? rootOf(document, channel.start, roots) : null;
  const end = channel.end ? rootOf(document, channel.end, roots) : null;
  return [...(start ? [start] : []), ...corners, ...(end ? [end] : [])];
}

/** Bend radii to go with `cornersOf`. @param {Item} channel */
export function radiiOf(channel) {
  const usual = channel.bend_radius_mm ?? DEFAULTS.Channel.bend_radius_mm;
  const radii = (channel.points ?? []).map((p) => p.bend_radius_mm ?? usual);
  return [...(channel.start ? [0] : []), ...radii, ...(channel.end ? [0] : [])];
}

/** The ids that move when one of them is moved: members of the same group, what they name. @param {PlateDocument} document @param {string[]} ids */
export function withGroups(document, ids) {
  const found = new Set(ids);
  for (const group of document.groups ?? []) {
    const members = group.members ?? [];
    if (found.has(group.id) || members.some((m) => ids.includes(m))) {
      members.forEach((m) => found.add(m));
    }
  }
  return [...found].filter((id) => find(document, id)?.kind !== "group");
}

/** What an item is called in a sentence: its id, and its name when it has one. @param {Item} item */
export const called = (item) => (item.name ? `${item.id} ${item.name}` : item.id);
