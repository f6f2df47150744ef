/**
 * Reading a plate document: the kinds of item, where each stands, defaults for what a file leaves out.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Point} Point
 * @typedef {{kind: string, path: string[], letter: string, plural: string, title: string}} KindInfo
 */

/** Every kind of item: where its list stands, the letter of its ids, and what people call it. @type {readonly KindInfo[]} */
export const KINDS = Object.freeze([
  { kind: "port", path: ["ports"], letter: "P", plural: "Ports", title: "Port" },
  { kind: "branch", path: ["branches"], letter: "J", plural: "Branches", title: "Branch" },
  { kind: "channel", path: ["channels"], letter: "C", plural: "Channels", title: "Channel" },
  { kind: "cutout", path: ["cutouts"], letter: "K", plural: "Cutouts", title: "Cutout" },
  { kind: "pocket", path: ["pockets"], letter: "R", plural: "Pockets", title: "Pocket" },
  { kind: "hole", path: ["holes"], letter: "H", plural: "Holes", title: "Hole" },
  { kind: "keep-out", path: ["keep_outs"], letter: "Z", plural: "Keep-outs", title: "Keep-out" },
  { kind: "obstacle", path: ["floor", "obstacles"], letter: "O", plural: "Obstacles", title: "Obstacle" },
  { kind: "opening", path: ["floor", "openings"], letter: "W", plural: "Openings", title: "Opening in the floor" },
  { kind: "board", path: ["boards"], letter: "B", plural: "Boards and cards", title: "Board" },
  { kind: "device", path: ["devices"], letter: "D", plural: "Devices", title: "Device" },
  { kind: "group", path: ["groups"], letter: "G", plural: "Groups", title: "Group" },
]);

/** @param {string} kind @returns {KindInfo} */
export function kindInfo(kind) {
  const found = KINDS.find((entry) => entry.kind === kind);
  if (!found) throw new Error(`no kind of item is called ${kind}`);
  return found;
}

/** The items of a kind. @param {PlateDocument} document @param {string} kind @returns {Item[]} */
export function itemsOf(document, kind) {
  let part = document;
  for (const key of kindInfo(kind).path) part = part?.[key];
  return /** @type {any} */ (part) ?? [];
}

/** @param {PlateDocument} document @param {string} id @returns {{kind: string, index: number, item: Item}|null} */
export function find(document, id) {
  for (const { kind } of KINDS) {
    const index = itemsOf(document, kind).findIndex((item) => item.id === id);
    if (index >= 0) return { kind, index, item: itemsOf(document, kind)[index] };
  }
  return null;
}

/** A new id of a kind: never one that is in use or was. @param {PlateDocument} document @param {string} kind */
export function newId(document, kind) {
  const { letter } = kindInfo(kind);
  const taken = new Set(document.retired_ids ?? []);
  for (const info of KINDS) for (const item of itemsOf(document, info.kind)) taken.add(item.id);
  for (const tube of document.loop?.tubes ?? []) taken.add(tube.id);
  let highest = 0;
  for (const id of taken) {
    const match = new RegExp(`^${letter}(\\d+)$`).exec(id);
    if (match) highest = Math.max(highest, Number(match[1]));
  }
  return `${letter}${highest + 1}`;
}

/** What a document leaves out when it is as usual, by kind of item. */
/** @type {Readonly<Record<string, Record<string, any>>>} */
export const DEFAULTS = Object.freeze({
  port: { face: "top", thread: "G1/4", thread_depth_mm: 10, fitting_diameter_mm: 20, use: "loop" },
  branch: {},
  channel: { points: [], bend_radius_mm: 10 },
  cutout: {},
  pocket: { face: "top", must_stay_dry: true },
  hole: { kind: "through", screw: "M4", use: "mount", face: "top", turn_deg: 0 },
  "keep-out": { refuses: ["port", "channel", "cutout", "pocket", "hole"] },
  obstacle: { bottom_mm: 0 },
  opening: {},
  board: {
    x_mm: 0,
    y_mm: 0,
    z_mm: 0,
    turn_deg: 0,
    roll_deg: 0,
    posture: "lying",
    role: "mainboard",
    thickness_mm: 1.6,
    parts_height_mm: 40,
    slots: 0,
    slot_pitch_mm: 20.32,
    holes: [],
  },
  device: {
    x_mm: 0,
    y_mm: 0,
    z_mm: 0,
    turn_deg: 0,
    roll_deg: 0,
    posture: "lying",
    height_mm: 0,
    ports: [],
    curve: [],
    speed_percent: 100,
    heat_w: 0,
    conductance: [],
    volume_ml: 0,
    metal: "none",
    fans: 0,
  },
  group: { members: [] },
});

/** A value of an item, or what the format has for it by default. @param {string} kind @param {Item} item @param {string} key */
export function valueOf(kind, item, key) {
  return item[key] ?? DEFAULTS[kind]?.[key] ?? null;
}

/** The middle of an item, mm, or null for one that has no place of its own. @param {PlateDocument} document @param {string} id @returns {Point|null} */
export function centreOf(document, id) {
  const found = find(document, id);
  if (!found) return null;
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
    const places = /** @type {Point[]} */ (
      (item.members ?? []).map((/** @type {string} */ m) => centreOf(document, m)).filter(Boolean)
    );
    if (!places.length) return null;
    return [mean(places.map((p) => p[0])), mean(places.map((p) => p[1]))];
  }
  if (item.held_by) return centreOf(document, item.held_by);
  return [item.x_mm ?? 0, item.y_mm ?? 0];
}

/** @param {number[]} values */
const mean = (values) => values.reduce((a, b) => a + b, 0) / values.length;

/** @param {Item} outline @returns {Point} */
export function outlineCentre(outline) {
  if (outline.shape !== "polygon") return [outline.x_mm, outline.y_mm];
  const xs = outline.vertices.map((/** @type {Item} */ v) => v.x_mm);
  const ys = outline.vertices.map((/** @type {Item} */ v) => v.y_mm);
  return [(Math.min(...xs) + Math.max(...xs)) / 2, (Math.min(...ys) + Math.max(...ys)) / 2];
}

/** Corners of an outline in order, mm: of a round one its four quarter points. @param {Item} outline @returns {Point[]} */
export function outlineCorners(outline) {
  if (outline.shape === "polygon") return outline.vertices.map((/** @type {Item} */ v) => [v.x_mm, v.y_mm]);
  const [w, d] =
    outline.shape === "circle"
      ? [outline.diameter_mm, outline.diameter_mm]
      : outline.shape === "slot"
        ? [outline.length_mm, outline.width_mm]
        : [outline.width_mm, outline.depth_mm];
  const turn = ((outline.turn_deg ?? 0) * Math.PI) / 180;
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  const places =
    outline.shape === "circle"
      ? [
          [-w / 2, 0],
          [0, -d / 2],
          [w / 2, 0],
          [0, d / 2],
        ]
      : [
          [-w / 2, -d / 2],
          [w / 2, -d / 2],
          [w / 2, d / 2],
          [-w / 2, d / 2],
        ];
  return places.map(([x, y]) => [outline.x_mm + c * x - s * y, outline.y_mm + s * x + c * y]);
}

/** Where channels reach a port or a branch, mm. @param {PlateDocument} document @param {string} id @param {Map<string, Point>} [roots] as the drawing has them @returns {Point|null} */
export function rootOf(document, id, roots) {
  const drawn = roots?.get(id);
  if (drawn) return drawn;
  const found = find(document, id);
  return found ? [found.item.x_mm, found.item.y_mm] : null;
}

/** Corners of a channel's centreline, its ends at ports and branches included. @param {PlateDocument} document @param {Item} channel @param {Map<string, Point>} [roots] @returns {Point[]} */
export function cornersOf(document, channel, roots) {
  /** @type {Point[]} */
  const corners = (channel.points ?? []).map((/** @type {Item} */ p) => [p.x_mm, p.y_mm]);
  const start = channel.start ? rootOf(document, channel.start, roots) : null;
  const end = channel.end ? rootOf(document, channel.end, roots) : null;
  return [...(start ? [start] : []), ...corners, ...(end ? [end] : [])];
}

/** Bend radii to go with `cornersOf`. @param {Item} channel */
export function radiiOf(channel) {
  const usual = channel.bend_radius_mm ?? 10;
  const radii = (channel.points ?? []).map((/** @type {Item} */ p) => p.bend_radius_mm ?? usual);
  return [...(channel.start ? [0] : []), ...radii, ...(channel.end ? [0] : [])];
}

/** The ids that move when one of them is moved: members of the same group, what they name. @param {PlateDocument} document @param {string[]} ids */
export function withGroups(document, ids) {
  const found = new Set(ids);
  for (const group of document.groups ?? []) {
    const members = group.members ?? [];
    if (found.has(group.id) || members.some((/** @type {string} */ m) => ids.includes(m))) {
      members.forEach((/** @type {string} */ m) => found.add(m));
    }
  }
  return [...found].filter((id) => find(document, id)?.kind !== "group");
}

/** What an item is called in a sentence: its id, and its name when it has one. @param {Item} item */
export const called = (item) => (item.name ? `${item.id} ${item.name}` : item.id);
