/** Outlines taken hold of: corners, edges and sides pulled, corners put in and rounded, edges arched. */

import { along, edgesOf } from "../../geometry/outline.js";
import { distance, turnAt } from "../../geometry/path.js";
import { outlineCorners, outlineOf } from "../../model/document.js";
import { cornerPulled, resized, sidePulled, withOutline } from "../../model/outlines.js";
import { arched, cornerInserted, cornerRounded, outward } from "../../model/polygons.js";

/**
 * @typedef {import("../pointer.js").Parts} Parts
 * @typedef {import("../pointer.js").Hand} Hand
 * @typedef {import("./handle.js").Held} Held
 * @typedef {import("../../types.js").Outline} Outline
 * @typedef {import("../../types.js").PlateDocument} PlateDocument
 * @typedef {import("../../types.js").Point} Point
 */

/** No rounding and no arch is larger than this by hand, mm. */
const LARGEST = 2000;
/** A straight edge stays straight until its arch is pulled so far, px. */
const STRAIGHT_PX = 6;

/** Where a hand rests. @param {Parts} parts @param {Held} held @param {Hand} hand */
function rested({ store, snapper }, { id, from }, { floor, free }) {
  const snap = snapper.snapped(floor, { reach: from.reach, without: new Set([id]), free });
  store.set({ snap });
  return snap.point;
}

/** @param {Parts} parts @param {Held} held @param {(outline: Outline) => Outline} reshape */
const drafted = ({ actions }, { document, id }, reshape) => actions.draft(withOutline(document, id, reshape));

/** @param {Parts} parts @param {Held} held @param {Hand} hand */
function pullVertex(parts, held, hand) {
  const to = rested(parts, held, hand);
  parts.store.set({ spot: { id: held.id, index: held.index } });
  drafted(parts, held, (outline) => cornerPulled(outline, held.index, to));
}

/** The opposite corner stays; with Shift held, the middle. @param {Parts} parts @param {Held} held @param {Hand} hand */
function pullSize(parts, held, hand) {
  const to = rested(parts, held, hand);
  drafted(parts, held, (outline) => (hand.adding ? resized(outline, to) : cornerPulled(outline, held.index, to)));
}

/** @param {Parts} parts @param {Held} held @param {Hand} hand */
function pullSide(parts, held, hand) {
  const to = rested(parts, held, hand);
  drafted(parts, held, (outline) => sidePulled(outline, held.index, to));
}

/** As far as the hand is off the edge's chord, to half a millimetre; nearly straight is straight. @param {Parts} parts @param {Held} held @param {Hand} hand */
function pullArch(parts, held, { floor, free }) {
  const { document, id, index } = held;
  const outline = outlineOf(document, id);
  if (outline?.shape !== "polygon") return;
  const { from: a, to: b } = edgesOf(outline)[index];
  const chord = distance(a, b) || 1;
  // To the right of the edge's way is where a positive bulge swells.
  const right = ((floor[0] - a[0]) * (b[1] - a[1]) - (floor[1] - a[1]) * (b[0] - a[0])) / chord;
  const wanted = Math.max(-LARGEST, Math.min(LARGEST, outward(outline) * right));
  const arch = free ? Math.round(wanted * 10) / 10 : Math.round(wanted * 2) / 2;
  const straight = !free && Math.abs(arch) * parts.store.get().view.scale < STRAIGHT_PX;
  parts.store.set({ spot: { id, index, edge: true } });
  drafted(parts, held, (was) => (was.shape === "polygon" ? arched(was, index, straight ? 0 : arch) : was));
}

/** The handle's way along the corner's bisector, whatever the angle, to half a millimetre. @param {Parts} parts @param {Held} held @param {Hand} hand */
function pullRound(parts, held, { floor }) {
  const { document, id, index, from } = held;
  const outline = outlineOf(document, id);
  if (outline?.shape !== "polygon") return;
  const corners = outlineCorners(outline);
  const n = corners.length;
  const at = corners[index];
  const turn = turnAt([corners[(index + n - 1) % n], at, corners[(index + 1) % n]], 1);
  const rise = 1 / Math.cos(Math.abs(turn) / 2) - 1;
  const now = outline.vertices[index].corner_radius_mm ?? 0;
  // A sharp corner's handle stands off the corner: what counts is how far it has been pulled from there.
  const start = now ? 0 : distance(at, from.floor);
  const radius = rise > 1e-6 ? Math.round((Math.max(0, distance(at, floor) - start) / rise) * 2) / 2 : 0;
  parts.store.set({ spot: { id, index } });
  drafted(parts, held, (was) =>
    was.shape === "polygon" ? cornerRounded(was, index, Math.min(radius, LARGEST)) : was,
  );
}

/** What each handle of an outline does with the place that it is pulled to. @type {Record<string, (parts: Parts, held: Held, hand: Hand) => void>} */
export const OUTLINE_PULLS = {
  vertex: pullVertex,
  size: pullSize,
  side: pullSide,
  edge: pullSide,
  arch: pullArch,
  round: pullRound,
};

/** A corner put in where the plus was taken, and dragged on from there; a tap selects the edge. @param {Parts} parts @param {Held} held @returns {import("../pointer.js").Mode} */
export function insertVertex(parts, held) {
  const { store, actions } = parts;
  const { document, id, index, from } = held;
  const outline = outlineOf(document, id);
  if (outline?.shape !== "polygon") return {};
  const { from: a, to: b, bulge } = edgesOf(outline)[index];
  const inserted = withOutline(document, id, () => cornerInserted(outline, index, along(a, b, bulge, 0.5)));
  const corner = { document: inserted, id, index: index + 1, from };
  return {
    on: () => store.set({ spot: { id, index: index + 1 } }),
    move: (hand) => pullVertex(parts, corner, hand),
    drop: () => actions.keepDraft(`Add a corner to ${id}`),
    tap: () => store.set({ spot: { id, index, edge: true } }),
    off: () => store.set({ snap: null }),
  };
}

/** An edge of what is selected, taken hold of anywhere along it. @param {Parts} parts @param {string} id @param {number} index @param {Hand} from @returns {import("../pointer.js").Mode} */
export function dragEdge(parts, id, index, from) {
  const { store, actions } = parts;
  const { document } = store.get();
  /** @type {Held} */
  const held = { document, id, index, from };
  const spot = { id, index, edge: true };
  return {
    on: () => store.set({ spot }),
    move: (hand) => pullSide(parts, held, hand),
    drop: () => actions.keepDraft(`Move an edge of ${id}`),
    tap: () => store.set({ spot }),
    off: () => store.set({ snap: null }),
  };
}
