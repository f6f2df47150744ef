/** The handles of a selected channel, its corners, bends, and the plus that puts a new corner in; and what all handles are. */

import { distance, turnAt } from "../../geometry/path.js";
import { insertSlotCorner, moveSlotCorner, slotCourse } from "../../model/cableslots.js";
import { insertPoint, movePoint, placeOnCourse } from "../../model/centrelines.js";
import { cornersOf, find, selectable } from "../../model/document.js";
import { change, put } from "../../model/edit.js";
import { insertTubePoint, moveTubePoint, tubeCorners } from "../../model/tubes.js";
import { OUTLINE_PULLS, insertVertex } from "./outlinepull.js";
import { dragTurn } from "./turn.js";

/**
 * @typedef {import("../pointer.js").Parts} Parts
 * @typedef {import("../pointer.js").Hand} Hand
 * @typedef {import("../../types.js").PlateDocument} PlateDocument
 * @typedef {{document: PlateDocument, id: string, index: number, from: Hand}} Held  what the handle belongs to, as it was
 */

/** A bend is never rounder than this, mm. */
const WIDEST_BEND = 500;

/** What each handle does with the place that it is pulled to. @type {Record<string, (parts: Parts, held: Held, hand: Hand) => void>} */
const PULLS = { "slot-corner": pullSlotCorner, corner: pullCorner, bend: pullBend, "tube-corner": pullTubeCorner, ...OUTLINE_PULLS };

/** @param {Parts} parts @param {DOMStringMap} handle @param {Hand} from @returns {import("../pointer.js").Mode} */
export function dragHandle(parts, handle, from) {
  const { store, actions } = parts;
  const { document, selection } = store.get();
  const [id] = selection;
  /** @type {Held} */
  const held = { document, id, index: Number(handle.index), from };
  if (handle.handle === "turn") return dragTurn(parts);
  if (handle.handle === "insert") return insertCorner(parts, held);
  if (handle.handle === "insert-vertex") return insertVertex(parts, held);
  if (handle.handle === "insert-slot") return insertCornerOfSlot(parts, held);
  if (handle.handle === "insert-tube") return insertTubeCorner(parts, held);
  const pull = PULLS[handle.handle ?? ""];
  return {
    move: (hand) => selectable(document, id) && pull?.(parts, held, hand),
    drop: () => actions.keepDraft(`Shape ${id}`),
    tap: () => store.set({ spot: spotOf(handle.handle, id, held.index) }),
    off: () => store.set({ snap: null }),
  };
}

/** What a tap on a handle chooses: a corner, or the edge that a side or an arch belongs to. @param {string|undefined} kind @param {string} id @param {number} index @returns {import("../../types.js").Spot} */
const spotOf = (kind, id, index) => (kind === "side" || kind === "arch" ? { id, index, edge: true } : { id, index });

/** A corner put in where the plus was taken, and dragged on from there. @param {Parts} parts @param {Held} held @returns {import("../pointer.js").Mode} */
function insertCorner(parts, { document, id, from }) {
  const { store, actions, stage } = parts;
  const place = placeOnCourse(document, id, from.floor, stage.roots);
  if (!place) return {};
  const inserted = insertPoint(document, id, place.index, place.point);
  const spot = { id, index: place.index };
  return {
    on: () => store.set({ spot }),
    move: (hand) => pullCorner(parts, { document: inserted, id, index: place.index, from }, hand),
    drop: () => actions.keepDraft(`Shape ${id}`),
    tap: () => actions.commit(inserted, `Add a corner to ${id}`, { spot }),
    off: () => store.set({ snap: null }),
  };
}

/** The same for a cable slot. @param {Parts} parts @param {Held} held @returns {import("../pointer.js").Mode} */
function insertCornerOfSlot(parts, { document, id, index, from }) {
  const { store, actions } = parts;
  const item = find(document, id)?.item;
  const [a, b] = item ? slotCourse(document, item).slice(index, index + 2) : [];
  if (!a || !b) return {};
  const inserted = insertSlotCorner(document, id, index, [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]);
  const spot = { id, index };
  return {
    on: () => store.set({ spot }),
    move: (hand) => pullSlotCorner(parts, { document: inserted, id, index, from }, hand),
    drop: () => actions.keepDraft(`Add a corner to ${id}`),
    tap: () => actions.commit(inserted, `Add a corner to ${id}`, { spot }),
    off: () => store.set({ snap: null }),
  };
}

/** @param {Parts} parts @param {Held} held @param {Hand} hand */
function pullSlotCorner({ store, actions, snapper }, { document, id, index, from }, { floor, free }) {
  const item = find(document, id)?.item;
  const before = item ? slotCourse(document, item)[index] : null;
  const snap = snapper.snapped(floor, { reach: from.reach, from: before ?? null, without: new Set([id]), free });
  store.set({ snap, spot: { id, index } });
  actions.draft(moveSlotCorner(document, id, index, snap.point));
}

/** The same for a tube: at the height that it has there. @param {Parts} parts @param {Held} held @returns {import("../pointer.js").Mode} */
function insertTubeCorner(parts, { document, id, index, from }) {
  const { store, actions, stage } = parts;
  const ends = stage.ends.get(id);
  if (!ends) return {};
  const [a, b] = tubeCorners(document, id, ends).slice(index, index + 2);
  const middle = /** @type {[number, number, number]} */ (a.map((v, i) => (v + b[i]) / 2));
  const inserted = insertTubePoint(document, id, index, middle);
  const spot = { id, index };
  return {
    on: () => store.set({ spot }),
    move: (hand) => pullTubeCorner(parts, { document: inserted, id, index, from }, hand),
    drop: () => actions.keepDraft(`Add a corner to the tube ${id}`),
    tap: () => actions.commit(inserted, `Add a corner to the tube ${id}`, { spot }),
    off: () => store.set({ snap: null }),
  };
}

/** A tube's corner moves level; heights are dragged in the elevations. @param {Parts} parts @param {Held} held @param {Hand} hand */
function pullTubeCorner({ store, actions, snapper, stage }, { document, id, index, from }, { floor, free }) {
  const ends = stage.ends.get(id);
  const before = ends ? tubeCorners(document, id, ends)[index] : null;
  const snap = snapper.snapped(floor, { reach: from.reach, from: before && [before[0], before[1]], free });
  store.set({ snap, spot: { id, index } });
  actions.draft(moveTubePoint(document, id, index, snap.point));
}

/** @param {Parts} parts @param {Held} held @param {Hand} hand */
function pullCorner({ store, actions, snapper, stage }, { document, id, index, from }, { floor, free }) {
  const item = find(document, id)?.item;
  if (!item) return;
  const before = cornersOf(document, item, stage.roots)[index + (item.start ? 1 : 0) - 1] ?? null;
  const snap = snapper.snapped(floor, { reach: from.reach, from: before, without: new Set([id]), free });
  store.set({ snap, spot: { id, index } });
  actions.draft(movePoint(document, id, index, snap.point));
}

/** Away from the corner is a larger radius: the handle's way along the bisector, whatever the angle. @param {Parts} parts @param {Held} held @param {Hand} hand */
function pullBend({ store, actions, stage }, { document, id, index }, { floor }) {
  const item = find(document, id)?.item;
  if (!item) return;
  const corners = cornersOf(document, item, stage.roots);
  const at = index + (item.start ? 1 : 0);
  const inward = 1 / Math.cos(Math.abs(turnAt(corners, at)) / 2) - 1;
  const radius = inward > 1e-6 ? Math.round((distance(corners[at], floor) / inward) * 2) / 2 : 0;
  store.set({ spot: { id, index } });
  actions.draft(
    change(document, id, (channel) =>
      put(channel, ["points", index, "bend_radius_mm"], Math.max(0, Math.min(radius, WIDEST_BEND))),
    ),
  );
}

