/** Parts of a panel that are drawn when they are opened, and stay open over a redraw. */

import { h } from "../dom.js";

/**
 * @param {import("../types.js").Memory} memory what outlives a redraw
 * @param {string} title @param {() => import("../types.js").Child} content @param {() => void} again redraws the panel
 * @param {boolean} [first] whether it is open before anyone has chosen
 */
export function folded(memory, title, content, again, first = false) {
  const key = `open ${title}`;
  const open = Boolean(memory[key] ?? first);
  return h(
    "details.more",
    {
      open,
      dataset: { fold: title },
      ontoggle: (event) => {
        const now = event.currentTarget.open;
        if (now === Boolean(memory[key] ?? first)) return;
        memory[key] = now;
        again();
      },
    },
    h("summary", { "data-keep": `fold-${title}` }, h("h4", {}, title)),
    open ? content() : null,
  );
}
