/** All items as a list: what the drawing shows, for those who read or who work by keyboard. */

import { KINDS, WHOLES, centreOf, isWhole, itemsOf } from "../model/document.js";
import { h, refill } from "../dom.js";
import { format } from "../model/quantity.js";
import { shown } from "../geometry/view.js";

/** @param {{store: import("../types.js").Store, actions: import("../types.js").Actions, root: HTMLElement}} parts */
export function createItemList({ store, actions, root }) {
  // Long, because list, row and choice share the store and the actions.
  function draw() {
    const { document, answer } = store.get();
    // A list that nobody sees is drawn when it is opened.
    if (!document || root.hidden || store.get().draft) return;
    const troubled = new Map();
    for (const f of answer?.findings ?? [])
      if (!f.accepted && f.level === "error") for (const id of f.items) troubled.set(id, (troubled.get(id) ?? 0) + 1);
    const wholes = /** @type {(keyof typeof WHOLES)[]} */ (Object.keys(WHOLES)).filter((id) => isWhole(document, id));
    refill(
      root,
      h(
        "section",
        {},
        h("h3.list-head", { id: "list-wholes" }, "Plate and floor"),
        h(
          "ul.item-list",
          { "aria-labelledby": "list-wholes" },
          wholes.map((id) => row({ id, name: WHOLES[id] }, troubled.get(id) ?? 0)),
        ),
      ),
      KINDS.map(({ kind, plural }) => {
        const items = itemsOf(document, kind);
        if (!items.length) return null;
        return h(
          "section",
          {},
          h("h3.list-head", { id: `list-${kind}` }, `${plural} (${items.length})`),
          h(
            "ul.item-list",
            { "aria-labelledby": `list-${kind}` },
            items.map((item) => row(item, troubled.get(item.id) ?? 0)),
          ),
        );
      }),
    );
  }

  /** @param {Pick<import("../types.js").Item, "id"|"name"|"locked">} item @param {number} count of its errors */
  function row(item, count) {
    const { document, selection, unit } = store.get();
    const at = centreOf(document, item.id);
    const state = count
      ? h(
          "span.trouble",
          {},
          h("span.unseen", {}, `, ${count} to fix`),
          h("span", { "aria-hidden": "true" }, `! ${count}`),
        )
      : item.locked && h("span.quiet", {}, "locked");
    return h(
      "li",
      {},
      h(
        "button.item-row",
        {
          type: "button",
          "aria-pressed": String(selection.includes(item.id)),
          "data-keep": `item-${item.id}`,
          dataset: { item: item.id },
          onclick: (/** @type {MouseEvent} */ e) => choose(item.id, e.shiftKey || e.ctrlKey || e.metaKey),
          onfocus: () => store.set({ hover: item.id }),
          onblur: () => store.set({ hover: null }),
          onmouseenter: () => store.set({ hover: item.id }),
          onmouseleave: () => store.set({ hover: null }),
        },
        h("span.id", {}, item.id),
        h("span.row-name", {}, item.name || "—"),
        h("span.place", {}, at ? `${format(at[0], unit, 1)}, ${format(at[1], unit, 1)}` : ""),
        state,
      ),
    );
  }

  /** @param {string} id @param {boolean} adding */
  function choose(id, adding) {
    const { document, view, size } = store.get();
    actions.select([id], { adding });
    const at = centreOf(document, id);
    if (at) store.set({ view: shown(view, at, size) });
  }

  root.addEventListener("keydown", (event) => {
    if (!["ArrowDown", "ArrowUp", "Home", "End"].includes(event.key)) return;
    const rows = /** @type {HTMLElement[]} */ ([...root.querySelectorAll(".item-row")]);
    const at = rows.findIndex((row) => row === document.activeElement);
    if (at < 0) return;
    event.preventDefault();
    const to = { ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: rows.length - 1 }[event.key] ?? at;
    rows[Math.max(0, Math.min(rows.length - 1, to))].focus();
  });
  store.watch(["document", "selection", "unit", "answer", "tab"], draw);
  return { draw };
}
