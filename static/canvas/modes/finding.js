/** The sign of a finding: a tap shows it; a drag takes hold of what lies beneath. */

import { find } from "../../model/document.js";

/** @param {import("../pointer.js").Parts} parts @param {import("../../types.js").Finding} finding @param {() => import("../pointer.js").Mode} beneath @returns {import("../pointer.js").Mode} */
export function showFinding({ store, actions }, finding, beneath) {
  return {
    on: beneath,
    tap() {
      store.set({ finding });
      actions.select(finding.items.filter((id) => find(store.get().document, id)));
    },
  };
}
