/** What follows a thing is updated when the thing has changed in a way that only the server can work out. */

import { leadersChanged } from "../model/following.js";

/** @param {{store: import("../types.js").Store, actions: import("../types.js").Actions, api: import("../types.js").Api}} parts */
export function createInStep({ store, actions, api }) {
  store.subscribe((now, before) => {
    if (now.document === before.document || !now.document || !before.document) return;
    if (now.plate?.id !== before.plate?.id || !leadersChanged(before.document, now.document)) return;
    const { document } = now;
    api.post("/api/follow/step", { document }).then(
      (made) => {
        if (!made.ids.length || store.get().document !== document || store.get().draft) return;
        actions.commit(made.document, `Move ${made.ids.join(", ")} along`);
      },
      () => {
        // Without an answer nothing is out of sight: the rule says what stayed behind.
      },
    );
  });
}
