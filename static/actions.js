/** What the page can do: one place that changes the state. */

import { DEFAULTS } from "./format.js";
import { movePoint, removePoint } from "./model/centrelines.js";
import { along, dimensionOf } from "./model/dimensions.js";
import { find, outlineCorners, outlineOf, selectable, withGroups } from "./model/document.js";
import { takenAlong } from "./model/deleted.js";
import * as edit from "./model/edit.js";
import { sameContent } from "./model/same.js";
import { isLed, moveSlotCorner, removeSlotCorner, slotCorners } from "./model/cableslots.js";
import { whyItStays, withFollowers } from "./model/following.js";
import { partMoved, withOutline } from "./model/outlines.js";
import { arched, cornerRemoved } from "./model/polygons.js";
import { moveTubePoint, removeTubePoint, tubePoints } from "./model/tubes.js";

/**
 * @typedef {import("./types.js").PlateDocument} PlateDocument
 * @typedef {import("./types.js").State} State
 * @typedef {import("./types.js").Store} Store
 */

/** What the server is asked for while something moves, and what besides when it has come to rest. */
export const WANT_MOVING = ["findings", "flow"];
export const WANT_RESTING = ["drawing", ...WANT_MOVING, "snaps", "seal", "survey", "lid"];

/**
 * @typedef {{store: Store, sync: {save: (document: PlateDocument, label: string) => void, undo: () => unknown, redo: () => unknown},
 *   live: {ask: (document: PlateDocument, want: string[]) => void}, say: (words: string) => void,
 *   whisper: (words: string) => void}} Parts
 *   say: for everybody; whisper: for those who hear the page, for the eye sees it anyway
 */

/** @param {Parts} parts */
export function createActions(parts) {
  const { store, sync, live, say, whisper } = parts;
  const shown = showing(parts);
  return {
    ...shown,
    ...changing(parts, shown.commit),
    /** @param {string[]} ids @param {{adding?: boolean, spot?: State["spot"]}} [options] */
    select(ids, { adding = false, spot = null } = {}) {
      const { selection } = store.get();
      const toggled = [...selection.filter((id) => !ids.includes(id)), ...ids.filter((id) => !selection.includes(id))];
      store.set({ selection: adding ? toggled : ids, spot });
    },
    /** Ids that a move of the selection takes along. @param {string[]} ids */
    moving: (ids) => withFollowers(store.get().document, withGroups(store.get().document, ids)),
    /** Says why nothing moved. @param {string[]} ids */
    stays: (ids) => say(why(store.get().document, ids)),
    /** Goes to a step. @param {string} step */
    step: (step) => store.set({ step, tool: null }),
    /** Takes a tool, or puts it away. @param {State["tool"]} tool */
    tool(tool) {
      store.set({ tool, course: [], measure: [], measureEnds: [], spot: tool ? null : store.get().spot });
      if (tool) whisper(`${tool.title}. ${tool.help}`);
    },
    undo: () => sync.undo(),
    redo: () => sync.redo(),
    /** Asks again for all that is shown. */
    refresh: () => live.ask(store.get().document, WANT_RESTING),
    say,
    whisper,
  };
}

/** Documents that are shown: dragged, edited, or come from elsewhere. @param {Parts} parts */
function showing({ store, sync, live }) {
  /** A finished edit. @param {PlateDocument} document @param {string} label @param {Partial<State>} [also] */
  const commit = (document, label, also = {}) => {
    if (document === store.get().document) {
      store.set({ draft: null, ...also });
      return;
    }
    const { document: before, surveyEdits } = store.get();
    // A document that came back from the server is new in all its parts: what counts is what stands in them.
    const measured = document.survey !== before.survey && !sameContent(document.survey, before.survey);
    store.set({ document, draft: null, ...also });
    sync.save(document, label);
    live.ask(document, WANT_RESTING);
    if (measured) store.set({ surveyEdits: surveyEdits + 1 });
  };
  return {
    commit,
    /** An edit by a function of the document. @param {string} label @param {(document: PlateDocument) => PlateDocument} change @param {Partial<State>} [also] */
    edit: (label, change, also) => commit(change(store.get().document), label, also),
    /** Shows a document without saving it: something is being dragged. @param {PlateDocument} draft */
    draft(draft) {
      store.set({ draft });
      live.ask(draft, WANT_MOVING);
    },
    /** What has been dragged is kept. @param {string} label */
    keepDraft(label) {
      const { draft } = store.get();
      if (draft) commit(draft, label, { snap: null });
    },
    /** Forgets what is being dragged. */
    dropDraft() {
      if (!store.get().draft) return;
      store.set({ draft: null });
      live.ask(store.get().document, WANT_RESTING);
    },
    /** A document that came from elsewhere. @param {PlateDocument} document */
    show(document) {
      const { selection, spot } = store.get();
      store.set({
        document,
        draft: null,
        selection: selection.filter((id) => selectable(document, id)),
        spot: spot && hasSpot(document, spot) ? spot : null,
      });
      live.ask(document, WANT_RESTING);
    },
  };
}

/** Whether a corner or an edge that was chosen is still there. @param {PlateDocument} document @param {import("./types.js").Spot} spot */
function hasSpot(document, { id, index }) {
  const item = find(document, id)?.item;
  if (item && isLed(item)) return index < slotCorners(item).length;
  const outline = outlineOf(document, id);
  if (outline) return index < outlineCorners(outline).length;
  return Boolean(item?.points?.[index] ?? tubePoints(document, id)?.[index]);
}

/** @typedef {(document: PlateDocument, label: string, also?: Partial<State>) => void} Commit */

/** What the keys do to the selection. @param {Parts} parts @param {Commit} commit */
function changing(parts, commit) {
  return {
    /** Moves the chosen corner, or the selection. @param {number} dx mm @param {number} dy mm */
    nudge: (dx, dy) => nudge(parts, commit, dx, dy),
    /** Deletes the chosen corner, or the selection. */
    remove() {
      const { spot } = parts.store.get();
      if (spot) removeSpot(parts, commit, spot);
      else removeSelection(parts, commit);
    },
  };
}

/** @param {Parts} parts @param {Commit} commit @param {number} dx mm @param {number} dy mm */
function nudge({ store, say }, commit, dx, dy) {
  const { selection, spot, document } = store.get();
  if (spot) {
    const part = spot.edge ? "an edge" : "a corner";
    commit(nudgedCorner(document, spot, dx, dy), `Move ${part} of ${spot.id}`, { spot });
    return;
  }
  const [whole] = selection;
  if (selection.length === 1 && !find(document, whole) && outlineOf(document, whole)) {
    commit(
      withOutline(document, whole, (outline) => edit.outlineMoved(outline, dx, dy)),
      `Move the ${whole}`,
    );
    return;
  }
  const lone = selection.length === 1 ? dimensionOf(document, whole) : null;
  const drawn = store.get().answer?.drawing?.dimensions?.[whole];
  if (lone && !lone.locked && drawn?.first && drawn.second) {
    const off = (lone.offset_mm ?? DEFAULTS.Dimension.offset_mm) + along(lone, drawn.first, drawn.second, dx, dy);
    commit(edit.setValue(document, whole, ["offset_mm"], edit.micro(off)), `Move the dimension line ${whole}`);
    return;
  }
  const ids = withFollowers(document, withGroups(document, selection));
  const can = ids.map((id) => find(document, id)).some((found) => found && edit.movable(found.item, found.kind));
  const moved = edit.move(document, ids, dx, dy);
  if (can && moved !== document) commit(moved, `Move ${selection.join(", ")}`);
  else say(why(document, selection));
}

/** A corner goes; an arched edge becomes straight. @param {Parts} parts @param {Commit} commit @param {import("./types.js").Spot} spot */
function removeSpot({ store, say }, commit, { id, index, edge: onEdge }) {
  const { document } = store.get();
  const outline = outlineOf(document, id);
  if (isLed(find(document, id)?.item)) {
    commit(removeSlotCorner(document, id, index), `Remove a corner of ${id}`, { spot: null });
    return;
  }
  if (!outline && tubePoints(document, id)) {
    commit(removeTubePoint(document, id, index), `Remove a corner of the tube ${id}`, { spot: null });
    return;
  }
  if (!outline) {
    commit(removePoint(document, id, index), `Remove a corner of ${id}`, { spot: null });
    return;
  }
  if (outline.shape !== "polygon") {
    say("Only an outline by corners loses one. “Edit by corners” in its panel makes it one.");
    return;
  }
  const next = onEdge ? arched(outline, index, 0) : cornerRemoved(outline, index);
  if (next === outline) say("An outline needs three corners.");
  else commit(withOutline(document, id, () => next), `${onEdge ? "Straighten an edge" : "Remove a corner"} of ${id}`, { spot: null });
}

/** @param {Parts} parts @param {Commit} commit */
function removeSelection({ store, say }, commit) {
  const { selection, document } = store.get();
  if (selection.some((id) => !find(document, id))) {
    say("The plate and the floor cannot be deleted.");
    return;
  }
  const free = selection.filter((id) => !find(document, id)?.item.locked);
  if (!free.length) {
    if (selection.length) say("Locked items stay. Unlock them first.");
    return;
  }
  const next = edit.remove(document, free);
  commit(next, `Delete ${free.join(", ")}`, { selection: [] });
  const gone = takenAlong(document, next, free);
  say(`Deleted ${free.join(", ")}. ${gone ? `${gone} ` : ""}Undo brings ${free.length > 1 ? "them" : "it"} back.`);
}

/** @param {PlateDocument} document @param {import("./types.js").Spot} spot @param {number} dx @param {number} dy */
function nudgedCorner(document, spot, dx, dy) {
  const { id, index } = spot;
  const slot = find(document, id)?.item;
  if (slot && isLed(slot)) {
    const at = slotCorners(slot)[index];
    return at ? moveSlotCorner(document, id, index, [at.x_mm + dx, at.y_mm + dy]) : document;
  }
  if (outlineOf(document, id)) return withOutline(document, id, (outline) => partMoved(outline, spot, dx, dy));
  const corner = tubePoints(document, id)?.[index];
  if (corner) return moveTubePoint(document, id, index, [corner.x_mm + dx, corner.y_mm + dy]);
  const point = find(document, id)?.item.points?.[index];
  return point ? movePoint(document, id, index, [point.x_mm + dx, point.y_mm + dy]) : document;
}

/** Why nothing moved. @param {PlateDocument} document @param {string[]} selection */
function why(document, selection) {
  const found = selection.map((id) => find(document, id)).filter((f) => f !== null);
  const held = found.find((f) => f.item.held_by);
  if (held) return `${held.item.id} is held by ${held.item.held_by}: move that, or change its place in its panel.`;
  if (found.some((f) => f.item.locked)) return "It is locked. Unlock it first.";
  return whyItStays(document, selection) || "Nothing here can be moved.";
}
