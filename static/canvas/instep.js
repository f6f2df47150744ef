/** What follows a thing is updated when the thing has changed in a way that only the server can work out. */

import { leadersChanged } from "../model/following.js";

/**
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @param {{store: import("../types.js").Store, actions: import("../types.js").Actions, api: import("../types.js").Api}} parts
 */
export function createInStep({ store, actions, api }) {
  /** Whether an answer came while a hand was on something: it is asked for again when the hand is off. */
  let owed = false;

  /** @param {PlateDocument} document */
  async function ask(document) {
    const plate = store.get().plate?.id;
    let made;
    try {
      made = await api.post("/api/follow/step", { document });
    } catch {
      return; // Without an answer nothing is out of sight: the rule says what stayed behind.
    }
    const now = store.get();
    if (!made.ids.length || now.plate?.id !== plate) return;
    if (now.draft) owed = true;
    else if (now.document === document) actions.commit(made.document, `Move ${made.ids.join(", ")} along`);
    else if (now.document) await ask(now.document); // something else was done meanwhile
  }

  store.subscribe((now, before) => {
    if (!now.document || !before.document) return;
    if (now.plate?.id !== before.plate?.id) {
      owed = false;
      return;
    }
    const changed = now.document !== before.document;
    const free = owed && !now.draft && (changed || before.draft !== null);
    if (!free && !(changed && leadersChanged(before.document, now.document))) return;
    owed = false;
    void ask(now.document);
  });
}
