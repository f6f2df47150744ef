/**
 * The tools: items added to the plate, channels and polygons drawn, distances measured, a section cut. A tool is told of
 * a place (by pointer or by cursor) and acts; it knows nothing of the pointer.
 *
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").Kind} Kind
 * @typedef {{name: string, title: string, help: string, letter?: string, use: Use, kind?: Kind, shape?: Shape, course?: boolean}} Tool
 *   use: which of the behaviours below it has; course: whether it takes several places
 * @typedef {"place"|"channel"|"tube"|"polygon"|"branch"|"measure"|"section"|"reading"|"box"} Use
 * @typedef {keyof typeof OUTLINE} Shape
 * @typedef {{point: Point, keep: boolean, reach: number}} Place  snapped; keep: the tool stays; reach: mm that count as on it
 * @typedef {{at: (tool: Tool, place: Place) => void, finish?: (tool: Tool) => void}} Behaviour
 * @typedef {ReturnType<typeof createTools>} Tools
 */

import * as centrelines from "../model/centrelines.js";
import { find } from "../model/document.js";
import { add, micro } from "../model/edit.js";
import { itemsAt, itemsWithin } from "../geometry/hits.js";
import { measuredEnd } from "./measurebar.js";
import { tubeTool } from "./tubetool.js";

/** Outlines as they are added: usual sizes, to be changed by number. */
const OUTLINE = {
  circle: { shape: /** @type {const} */ ("circle"), diameter_mm: 16 },
  slot: { shape: /** @type {const} */ ("slot"), length_mm: 50, width_mm: 14 },
  rectangle: { shape: /** @type {const} */ ("rectangle"), width_mm: 40, depth_mm: 24, corner_radius_mm: 4 },
};

/** What a new item is beside its place. @type {Partial<Record<Kind, object>>} */
const VALUES = { pocket: { depth_mm: 4 }, obstacle: { height_mm: 10 } };

/** @param {string} name @param {string} title @param {Kind} kind @param {string} [letter] @param {Shape} [shape] @returns {Tool} */
const placing = (name, title, kind, letter, shape) => ({
  name,
  title,
  use: "place",
  kind,
  letter,
  shape,
  help: "Click where it belongs, or move the cursor with the arrow keys and press Enter. Escape cancels.",
});

/** @type {Record<string, Tool>} */
export const TOOLS = {
  port: placing("port", "Port", "port", "p"),
  hole: placing("hole", "Screw hole", "hole", "h"),
  "cutout-circle": placing("cutout-circle", "Round cutout", "cutout", "k", "circle"),
  "cutout-slot": placing("cutout-slot", "Slot cutout", "cutout", undefined, "slot"),
  "cutout-rectangle": placing("cutout-rectangle", "Rectangular cutout", "cutout", undefined, "rectangle"),
  "cutout-polygon": {
    name: "cutout-polygon",
    title: "Cutout by corners",
    use: "polygon",
    kind: "cutout",
    course: true,
    help: "Click the corners one by one; Enter, or a click on the first, closes it. Escape starts over.",
  },
  pocket: placing("pocket", "Pocket", "pocket", "r", "rectangle"),
  "keep-out": placing("keep-out", "Keep-out", "keep-out", "z", "rectangle"),
  obstacle: placing("obstacle", "Obstacle on the floor", "obstacle", "o", "rectangle"),
  opening: placing("opening", "Opening in the floor", "opening", "w", "rectangle"),
  branch: {
    name: "branch",
    title: "Branch",
    use: "branch",
    letter: "j",
    help: "Click a channel where another is to meet it.",
  },
  channel: {
    name: "channel",
    title: "Channel",
    use: "channel",
    letter: "c",
    course: true,
    help: "Click where the channel begins, its corners, and where it ends: ports, branches or free places. Enter ends it.",
  },
  tube: {
    name: "tube",
    title: "Tube",
    use: "tube",
    letter: "t",
    course: true,
    help: "Click the port where the tube begins, its corners in plan, and the port where it ends. Escape starts over.",
  },
  measure: {
    name: "measure",
    title: "Distance",
    use: "measure",
    letter: "m",
    help: "Click two places, centres, corners or edges; the distance stays until the next click, or is kept as a dimension line.",
  },
  reading: {
    name: "reading",
    title: "Reading between two points",
    use: "reading",
    help: "Click the two survey points, then type what the tool reads.",
  },
  box: {
    name: "box",
    title: "Select by a box",
    use: "box",
    letter: "b",
    help: "Click two opposite corners of a box: what lies wholly within is added to the selection.",
  },
  section: {
    name: "section",
    title: "Section",
    use: "section",
    letter: "x",
    help: "Click the two ends of the line to cut along.",
  },
};

/** The second click of a double click adds nothing more. @param {string|Point|undefined} a @param {string|Point} b */
export const samePlace = (a, b) =>
  a === b || (Array.isArray(a) && Array.isArray(b) && Math.hypot(a[0] - b[0], a[1] - b[1]) < 1e-6);

/** @typedef {{store: import("../types.js").Store, actions: import("../types.js").Actions, stage: import("../types.js").Stage,
 *   api: import("../types.js").Api}} Parts
 */

/** @param {Parts} parts */
export function createTools(parts) {
  const { store } = parts;
  /** @type {Record<Use, Behaviour>} */
  const behaviours = {
    place: placeTool(parts),
    channel: channelTool(parts),
    tube: tubeTool(parts),
    polygon: polygonTool(parts),
    branch: branchTool(parts),
    measure: measureTool(parts),
    section: sectionTool(parts),
    reading: readingTool(parts),
    box: boxTool(parts),
  };
  return {
    /** A click or Enter at a place. @param {Point} point already snapped @param {{keep?: boolean, reach: number}} options */
    at(point, { keep = false, reach }) {
      const { tool } = store.get();
      if (tool) behaviours[tool.use].at(tool, { point, keep, reach });
    },
    /** Ends a course: the channel or the polygon is made of what is there. */
    finish() {
      const { tool } = store.get();
      if (tool) behaviours[tool.use].finish?.(tool);
    },
    /** Escape: one step back. @returns {boolean} whether there was anything to cancel */
    escape() {
      const { tool, course, measure, sectionLine } = store.get();
      if (course.length) store.set({ course: [] });
      else if (tool)
        store.set({
          tool: null,
          snap: null,
          measure: [],
          measureEnds: [],
          sectionLine: sectionLine?.length === 2 ? sectionLine : null,
        });
      else if (measure.length) store.set({ measure: [], measureEnds: [] });
      else if (sectionLine) store.set({ sectionLine: null, section: null });
      else return false;
      return true;
    },
  };
}

/** @param {Point} point */
const placed = ([x, y]) => ({ x_mm: micro(x), y_mm: micro(y) });

/** A new item is selected, and the tool goes. @param {Parts} parts @param {{document: import("../types.js").PlateDocument, id: string}} made @param {string} words @param {boolean} [keep] */
function added({ actions }, made, words, keep = false) {
  actions.commit(made.document, `Add ${made.id}`, {
    selection: [made.id],
    course: [],
    spot: null,
    snap: null,
    ...(keep ? {} : { tool: null }),
  });
  actions.say(words);
}

/** An item with a place, or with an outline of a usual size. @param {Parts} parts @returns {Behaviour} */
const placeTool = (parts) => ({
  at({ kind, shape, title }, { point, keep }) {
    if (!kind) return;
    const where = shape ? { outline: { ...OUTLINE[shape], ...placed(point) } } : placed(point);
    const made = add(parts.store.get().document, kind, { ...VALUES[kind], ...where });
    added(parts, made, `${title} ${made.id} added.`, keep);
  },
});

/** From port to port; corners between. @param {Parts} parts @returns {Behaviour} */
function channelTool(parts) {
  const { store, actions, stage } = parts;
  /** The id of a port or branch at a place, or the place. @param {Place} place */
  function endAt({ point, reach }) {
    const { document, layers } = store.get();
    const hidden = new Set(Object.keys(layers).filter((name) => layers[name] === "hidden"));
    const ids = itemsAt(document, point, reach, hidden, stage.roots);
    return ids.find((id) => ["port", "branch"].includes(find(document, id)?.kind ?? "")) ?? point;
  }
  function finish() {
    const made = centrelines.draw(store.get().document, store.get().course);
    if (made) added(parts, made, `Channel ${made.id} drawn.`);
    else actions.say("A channel needs two different places.");
  }
  return {
    at(_, place) {
      const end = endAt(place);
      const { course } = store.get();
      if (samePlace(course.at(-1), end)) return;
      store.set({ course: [...course, end] });
      if (course.length && typeof end === "string") finish();
    },
    finish,
  };
}

/** Corner by corner; a click on the first closes it. @param {Parts} parts @returns {Behaviour} */
function polygonTool(parts) {
  const { store, actions } = parts;
  /** @param {Tool} tool */
  function finish({ kind = "cutout" }) {
    const corners = /** @type {Point[]} */ (store.get().course);
    if (corners.length < 3) {
      actions.say("An outline needs three corners.");
      return;
    }
    const outline = { shape: /** @type {const} */ ("polygon"), vertices: corners.map(placed) };
    const made = add(store.get().document, kind, { ...VALUES[kind], outline });
    added(parts, made, `${made.id} added.`);
  }
  return {
    at(tool, { point, reach }) {
      const corners = /** @type {Point[]} */ (store.get().course);
      const [first] = corners;
      if (corners.length > 2 && Math.hypot(first[0] - point[0], first[1] - point[1]) <= reach) finish(tool);
      else if (!samePlace(corners.at(-1), point)) store.set({ course: [...corners, point] });
    },
    finish,
  };
}

/** Into a channel, or free. @param {Parts} parts @returns {Behaviour} */
const branchTool = (parts) => ({
  at(_, { point, reach }) {
    const { store, stage } = parts;
    const { document } = store.get();
    const id = itemsAt(document, point, reach, new Set(), stage.roots).find(
      (one) => find(document, one)?.kind === "channel",
    );
    const made = id ? centrelines.branchAt(document, id, point, stage.roots) : add(document, "branch", placed(point));
    if (made) added(parts, made, id ? `Branch ${made.id} put into ${id}.` : `Branch ${made.id} added.`);
  },
});

/** Two places; the distance stays. @param {Parts} parts @returns {Behaviour} */
const measureTool = ({ store, stage }) => ({
  at(_, { point, reach }) {
    const { measure, measureEnds } = store.get();
    const end = measuredEnd(store.get(), stage, point, reach);
    const second = measure.length === 1;
    store.set({ measure: second ? [measure[0], point] : [point], measureEnds: second ? [measureEnds[0], end] : [end] });
  },
});

/** Two places; the plate is cut along the line through them. @param {Parts} parts @returns {Behaviour} */
const sectionTool = ({ store }) => ({
  at(_, { point }) {
    const line = store.get().sectionLine;
    if (line?.length === 1) store.set({ sectionLine: [line[0], point], tool: null, snap: null });
    else store.set({ sectionLine: [point] });
  },
});

/** Two corners of a box, for a hand that has no Shift to pull it with. @param {Parts} parts @returns {Behaviour} */
const boxTool = ({ store, actions, stage }) => ({
  at(_, { point }) {
    const [first] = /** @type {Point[]} */ (store.get().course);
    if (!first) {
      store.set({ course: [point] });
      return;
    }
    selectWithin({ store, actions, stage }, first, point);
    store.set({ course: [], tool: null, snap: null });
  },
});

/** All that lies wholly within a box is added to the selection. @param {Pick<Parts, "store"|"actions"|"stage">} parts @param {Point} a @param {Point} b */
export function selectWithin({ store, actions, stage }, a, b) {
  const { document, selection, layers } = store.get();
  const hidden = new Set(Object.keys(layers).filter((name) => layers[name] === "hidden"));
  const ids = itemsWithin(document, a, b, stage.extents(true), hidden, stage.roots);
  actions.select([...new Set([...selection, ...ids])]);
  actions.say(ids.length ? `${ids.length} selected.` : "Nothing lies wholly within the box.");
}

/** Two survey points for the next reading. @param {Parts} parts @returns {Behaviour} */
function readingTool({ store, actions }) {
  /** @type {string|null} */
  let first = null;
  return {
    at(_tool, { point, reach }) {
      const { answer, course } = store.get();
      if (!course.length) first = null;
      const near = (answer?.survey?.points ?? [])
        .filter((p) => !p.loose && p.x_mm !== null)
        .map((p) => ({ id: p.id, at: /** @type {Point} */ ([p.x_mm, p.y_mm]) }))
        .map((p) => ({ ...p, far: Math.hypot(p.at[0] - point[0], p.at[1] - point[1]) }))
        .sort((a, b) => a.far - b.far)[0];
      if (!near || near.far > 3 * reach) {
        actions.say("No survey point is there. Click on its cross.");
        return;
      }
      if (first === null || first === near.id) {
        first = near.id;
        store.set({ course: [near.at] });
        return;
      }
      store.set({ course: [], tool: null, reading: [first, near.id] });
      first = null;
    },
  };
}
