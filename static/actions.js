/** What the page can do: one place that changes the state. */

import { find, withGroups } from "./model/document.js";
import * as edit from "./model/edit.js";

/**
 * @typedef {import("./types.js").PlateDocument} PlateDocument
 * @typedef {import("./types.js").Point} Point
 */

/** What the server is asked for while something moves, and what besides when it has come to rest. */
export const WANT_MOVING = ["findings", "flow"];
export const WANT_RESTING = ["drawing", ...WANT_MOVING, "snaps", "seal", "survey", "lid"];

/**
 * @param {{store: any, sync: any, live: any, say: (words: string) => void, whisper: (words: string) => void}} parts
 */
export function createActions({ store, sync, live, say, whisper }) {
  /** The document as it is shown: the draft while something moves. @returns {PlateDocument} */
  const shown = () => store.get().draft ?? store.get().document;

  const actions = {
    shown,
    /** Shows a document without saving it: something is being dragged. @param {PlateDocument} draft */
    draft(draft) {
      store.set({ draft });
      live.ask(draft, WANT_MOVING);
    },
    /** Forgets what is being dragged. */
    dropDraft() {
      if (!store.get().draft) return;
      store.set({ draft: null });
      live.ask(store.get().document, WANT_RESTING);
    },
    /** A finished edit. @param {PlateDocument} document @param {string} label @param {Partial<any>} [also] */
    commit(document, label, also = {}) {
      if (document === store.get().document) {
        store.set({ draft: null, ...also });
        return;
      }
      store.set({ document, draft: null, ...also });
      sync.save(document, label);
      live.ask(document, WANT_RESTING);
    },
    /** An edit by a function of the document. @param {string} label @param {(document: PlateDocument) => PlateDocument} change @param {Partial<any>} [also] */
    edit(label, change, also) {
      actions.commit(change(store.get().document), label, also);
    },
    /** A document that came from elsewhere. @param {PlateDocument} document */
    show(document) {
      const { selection, spot } = store.get();
      const kept = selection.filter((/** @type {string} */ id) => find(document, id));
      store.set({
        document,
        draft: null,
        selection: kept,
        spot: spot && find(document, spot.id)?.item.points?.[spot.index] ? spot : null,
      });
      live.ask(document, WANT_RESTING);
    },
    /** @param {string[]} ids @param {{adding?: boolean, spot?: any}} [options] */
    pick(ids, { adding = false, spot = null } = {}) {
      const { selection } = store.get();
      let next = ids;
      if (adding) {
        next = [...selection];
        for (const id of ids) {
          if (next.includes(id)) next.splice(next.indexOf(id), 1);
          else next.push(id);
        }
      }
      store.set({ selection: next, spot });
    },
    /** Ids that a move of the selection takes along. @param {string[]} ids */
    moving: (ids) => withGroups(store.get().document, ids),
    /** @param {number} dx @param {number} dy */
    nudge(dx, dy) {
      const { selection, spot, document } = store.get();
      if (spot) {
        const point = find(document, spot.id)?.item.points[spot.index];
        if (!point) return;
        actions.edit(`Move a corner of ${spot.id}`, (d) =>
          edit.change(d, spot.id, (channel) =>
            edit.put(channel, ["points", spot.index], {
              ...point,
              x_mm: edit.micro(point.x_mm + dx),
              y_mm: edit.micro(point.y_mm + dy),
            }),
          ),
        );
        return;
      }
      const ids = actions.moving(selection);
      const moved = edit.move(document, ids, dx, dy);
      if (
        moved === document ||
        !ids.some((id) =>
          edit.movable(/** @type {any} */ (find(document, id)).item, /** @type {any} */ (find(document, id)).kind),
        )
      ) {
        say(why(document, selection));
        return;
      }
      actions.commit(moved, `Move ${selection.join(", ")}`);
    },
    remove() {
      const { selection, spot, document } = store.get();
      if (spot) {
        actions.edit(
          `Take a corner out of ${spot.id}`,
          (d) =>
            edit.change(d, spot.id, (channel) => {
              const points = channel.points.filter((/** @type {any} */ _, /** @type {number} */ i) => i !== spot.index);
              return points.length + (channel.start ? 1 : 0) + (channel.end ? 1 : 0) < 2
                ? channel
                : { ...channel, points };
            }),
          { spot: null },
        );
        return;
      }
      const free = selection.filter((/** @type {string} */ id) => !find(document, id)?.item.locked);
      if (!free.length) {
        if (selection.length) say("Locked items stay. Unlock them first.");
        return;
      }
      actions.commit(edit.remove(document, free), `Delete ${free.join(", ")}`, { selection: [] });
      say(`Deleted ${free.join(", ")}. Undo brings ${free.length > 1 ? "them" : "it"} back.`);
    },
    /** Goes to a step of the way. @param {string} step */
    step(step) {
      store.set({ step, tool: null });
    },
    /** Takes a tool in hand, or puts it away. @param {any} tool */
    tool(tool) {
      store.set({ tool, course: [], measure: [], spot: tool ? null : store.get().spot });
      if (tool?.help) whisper(tool.help);
    },
    undo: () => sync.undo(),
    redo: () => sync.redo(),
    say,
    /** For those who hear the page; the eye sees it anyway. */
    whisper,
  };
  return actions;
}

/** Why nothing moved. @param {PlateDocument} document @param {string[]} selection */
function why(document, selection) {
  const found = selection.map((id) => find(document, id)).filter((f) => f !== null);
  const held = found.find((f) => f.item.held_by);
  if (held) return `${held.item.id} is held by ${held.item.held_by}: move that, or give it another place in its card.`;
  if (found.some((f) => f.item.locked)) return "It is locked. Unlock it first.";
  return "Nothing here can be moved.";
}
