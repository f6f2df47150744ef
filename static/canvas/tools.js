/**
 * What can be taken in hand: setting items down, drawing channels and polygons, measuring, cutting a section. A tool is
 * told of a place (by pointer or by pen) and acts; it knows nothing of the pointer.
 *
 * @typedef {import("../types.js").Point} Point
 * @typedef {{name: string, title: string, help: string, letter?: string, kind?: string, shape?: string, course?: boolean}} Tool
 */

import * as channels from "../model/centrelines.js";
import { find } from "../model/document.js";
import { add, micro } from "../model/edit.js";
import { itemsAt } from "../geometry/hits.js";

/** @param {string} name @param {string} title @param {string} kind @param {string} [letter] @param {string} [shape] @returns {Tool} */
const place = (name, title, kind, letter, shape) => ({
  name,
  title,
  kind,
  letter,
  shape,
  help: `${title} in hand. Click where it belongs, or move the pen with the arrow keys and press Enter. Escape puts it away.`,
});

/** @type {Record<string, Tool>} */
export const TOOLS = {
  port: place("port", "Port", "port", "p"),
  hole: place("hole", "Screw hole", "hole", "h"),
  "cutout-circle": place("cutout-circle", "Round cutout", "cutout", "k", "circle"),
  "cutout-slot": place("cutout-slot", "Slot cutout", "cutout", undefined, "slot"),
  "cutout-rectangle": place("cutout-rectangle", "Rectangular cutout", "cutout", undefined, "rectangle"),
  "cutout-polygon": {
    name: "cutout-polygon",
    title: "Cutout by corners",
    kind: "cutout",
    shape: "polygon",
    course: true,
    help: "Click the corners one by one; Enter, or a click on the first, closes it. Escape starts over.",
  },
  pocket: place("pocket", "Pocket", "pocket", "r", "rectangle"),
  "keep-out": place("keep-out", "Keep-out", "keep-out", "z", "rectangle"),
  obstacle: place("obstacle", "Obstacle on the floor", "obstacle", "o", "rectangle"),
  opening: place("opening", "Opening in the floor", "opening", "w", "rectangle"),
  branch: {
    name: "branch",
    title: "Branch",
    kind: "branch",
    letter: "j",
    help: "Click a channel where another shall meet it.",
  },
  channel: {
    name: "channel",
    title: "Channel",
    kind: "channel",
    letter: "c",
    course: true,
    help: "Click where the channel begins, its corners, and where it ends: ports, branches or free places. Enter ends it.",
  },
  measure: {
    name: "measure",
    title: "Measure",
    letter: "m",
    help: "Click two places; the distance stays until the next click.",
  },
  section: { name: "section", title: "Section", letter: "x", help: "Click the two ends of the line to cut along." },
};

/** Outlines as they are set down: usual sizes, to be changed by number. @type {Record<string, any>} */
const OUTLINE = {
  circle: { shape: "circle", diameter_mm: 16 },
  slot: { shape: "slot", length_mm: 50, width_mm: 14 },
  rectangle: { shape: "rectangle", width_mm: 40, depth_mm: 24, corner_radius_mm: 4 },
};

/** What a new item is beside its place. @type {Record<string, any>} */
const VALUES = { pocket: { depth_mm: 4 }, obstacle: { height_mm: 10 } };

/** The second click of a double click sets nothing more down. @param {string|Point|undefined} a @param {string|Point} b */
const samePlace = (a, b) =>
  a === b || (Array.isArray(a) && Array.isArray(b) && Math.hypot(a[0] - b[0], a[1] - b[1]) < 1e-6);

/** @param {{store: any, actions: any, stage: any}} parts */
export function createTools({ store, actions, stage }) {
  /** A click or Enter at a place. @param {Point} point already snapped @param {{keep?: boolean, reach: number}} options */
  function at(point, { keep = false, reach }) {
    const { tool, document } = store.get();
    if (!tool) return;
    if (tool.name === "measure") {
      const measure = store.get().measure ?? [];
      store.set({ measure: measure.length === 1 ? [measure[0], point] : [point] });
      return;
    }
    if (tool.name === "section") {
      const line = store.get().sectionLine;
      const open = line && line.length === 1 ? line : null;
      store.set({ sectionLine: open ? [open[0], point] : [point], ...(open ? { tool: null, snap: null } : {}) });
      return;
    }
    if (tool.name === "channel") return channelPlace(point, reach);
    if (tool.name === "branch") return branchPlace(point, reach);
    if (tool.course) return cornerPlace(point, reach);
    const values = { ...VALUES[tool.kind] };
    if (tool.shape) values.outline = { ...OUTLINE[tool.shape], x_mm: micro(point[0]), y_mm: micro(point[1]) };
    else Object.assign(values, { x_mm: micro(point[0]), y_mm: micro(point[1]) });
    const made = add(document, tool.kind, values);
    actions.commit(made.document, `Add ${made.id}`, {
      selection: [made.id],
      spot: null,
      snap: null,
      ...(keep ? {} : { tool: null }),
    });
    actions.say(`${tool.title} ${made.id} set down.`);
  }

  /** @param {Point} point @param {number} reach @returns {string|Point} the id of a port or branch there, or the place */
  function endAt(point, reach) {
    const { document, layers } = store.get();
    const hidden = new Set(Object.keys(layers).filter((name) => layers[name] === "hidden"));
    return (
      itemsAt(document, point, reach, hidden, stage.roots).find((id) =>
        ["port", "branch"].includes(find(document, id)?.kind ?? ""),
      ) ?? point
    );
  }

  /** @param {Point} point @param {number} reach */
  function channelPlace(point, reach) {
    const place = endAt(point, reach);
    const before = store.get().course ?? [];
    if (samePlace(before.at(-1), place)) return;
    const course = [...before, place];
    const closes = course.length > 1 && typeof place === "string";
    store.set({ course });
    if (closes) finish();
  }

  /** @param {Point} point @param {number} reach */
  function branchPlace(point, reach) {
    const { document } = store.get();
    const id = itemsAt(document, point, reach, new Set(), stage.roots).find(
      (one) => find(document, one)?.kind === "channel",
    );
    const made = id
      ? channels.branchAt(document, id, point, stage.roots)
      : add(document, "branch", { x_mm: micro(point[0]), y_mm: micro(point[1]) });
    if (!made) return;
    actions.commit(made.document, `Add ${made.id}`, { selection: [made.id], tool: null, snap: null });
    actions.say(id ? `Branch ${made.id} put into ${id}.` : `Branch ${made.id} set down.`);
  }

  /** @param {Point} point @param {number} reach */
  function cornerPlace(point, reach) {
    const course = /** @type {Point[]} */ (store.get().course ?? []);
    if (course.length > 2 && Math.hypot(course[0][0] - point[0], course[0][1] - point[1]) <= reach) return finish();
    if (!samePlace(course.at(-1), point)) store.set({ course: [...course, point] });
  }

  /** Ends a course: the channel or the polygon is made of what is there. */
  function finish() {
    const { tool, course, document } = store.get();
    if (!tool?.course) return;
    if (tool.name === "channel") {
      const made = channels.draw(document, course ?? []);
      if (!made) {
        actions.say("A channel needs two places that differ.");
        return;
      }
      actions.commit(made.document, `Add ${made.id}`, { selection: [made.id], course: [], tool: null, snap: null });
      actions.say(`Channel ${made.id} drawn.`);
      return;
    }
    const corners = /** @type {Point[]} */ (course ?? []);
    if (corners.length < 3) {
      actions.say("An outline needs three corners.");
      return;
    }
    const vertices = corners.map(([x, y]) => ({ x_mm: micro(x), y_mm: micro(y) }));
    const made = add(document, tool.kind ?? "cutout", {
      ...VALUES[tool.kind ?? ""],
      outline: { shape: "polygon", vertices },
    });
    actions.commit(made.document, `Add ${made.id}`, { selection: [made.id], course: [], tool: null, snap: null });
    actions.say(`${made.id} set down.`);
  }

  /** Escape: one step back. @returns {boolean} whether there was anything to put away */
  function escape() {
    const { tool, course, measure, sectionLine } = store.get();
    if (course?.length) store.set({ course: [] });
    else if (tool)
      store.set({ tool: null, snap: null, measure: [], sectionLine: sectionLine?.length === 2 ? sectionLine : null });
    else if (measure?.length) store.set({ measure: [] });
    else if (sectionLine) store.set({ sectionLine: null, section: null });
    else return false;
    return true;
  }

  return { at, finish, escape };
}
