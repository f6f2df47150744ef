/**
 * What follows a thing is updated when the thing has changed in a way that only the server can work out. The edit waits for
 * it before it is saved, so that both are one step to undo.
 */

import { leadersChanged } from "../model/following.js";

/**
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {{hold: (document: PlateDocument, until: Promise<unknown>) => void,
 *   amend: (before: PlateDocument, after: PlateDocument) => boolean}} Sync
 * @param {{store: import("../types.js").Store, actions: import("../types.js").Actions, api: import("../types.js").Api, sync: Sync}} parts
 */
export function createInStep({ store, actions, api, sync }) {
  /** Questions that are not answered yet: what is edited meanwhile was made from what is out of step, and is asked about too. */
  let open = 0;
  /** What an answer has made while a hand was on something: shown when the hand is off. @type {{of: PlateDocument, show: () => void}|null} */
  let owed = null;
  /** Documents that the server has put in step. @type {WeakSet<PlateDocument>} */
  const known = new WeakSet();

  /** @param {PlateDocument} document */
  async function ask(document) {
    const plate = store.get().plate?.id;
    open += 1;
    let made;
    try {
      made = await api.post("/api/follow/step", { document });
    } catch {
      return; // Without an answer nothing is out of sight: the rule says what stayed behind.
    } finally {
      open -= 1;
    }
    if (!made.ids.length || store.get().plate?.id !== plate) return;
    take(document, made.document, `Move ${made.ids.join(", ")} along`);
  }

  /** @param {PlateDocument} document @param {PlateDocument} after @param {string} words */
  function take(document, after, words) {
    known.add(after);
    const waited = sync.amend(document, after);
    const now = store.get();
    // What was edited meanwhile is asked about by itself.
    if (now.document !== document) return;
    const show = () => (waited ? actions.show(after) : actions.commit(after, words));
    if (now.draft) owed = { of: document, show };
    else show();
  }

  store.subscribe((now, before) => {
    if (!now.document || !before.document) return;
    if (now.plate?.id !== before.plate?.id) {
      owed = null;
      return;
    }
    const left = owed;
    if (left && !now.draft && now.document === left.of) {
      owed = null;
      left.show();
      return;
    }
    if (now.document === before.document || known.has(now.document)) return;
    if (!left && !open && !leadersChanged(before.document, now.document)) return;
    owed = null;
    sync.hold(now.document, ask(now.document));
  });
}
