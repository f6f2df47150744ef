/** All items as a list: what the drawing shows, for those who read or who work by keyboard. */

import { KINDS, WHOLES, centreOf, isWhole, itemsOf } from "../model/document.js";
import { h, refill } from "../dom.js";
import { format } from "../model/quantity.js";
import { shown } from "../geometry/view.js";

/** @typedef {{store: import("../types.js").Store, actions: import("../types.js").Actions}} Parts */

/** @param {Parts & {root: HTMLElement}} parts */
export function createItemList({ store, actions, root }) {
  function draw() {
    const { document, answer, draft } = store.get();
    // A list that nobody sees is drawn when it is opened.
    if (!document || root.hidden || draft) return;
    const troubled = errorsOf(answer?.findings ?? []);
    const rows = (/** @type {Row[]} */ items) => items.map((item) => row({ store, actions }, item, troubled.get(item.id) ?? 0));
    const wholes = /** @type {(keyof typeof WHOLES)[]} */ (Object.keys(WHOLES)).filter((id) => isWhole(document, id));
    refill(
      root,
      list("wholes", "Plate and floor", rows(wholes.map((id) => ({ id, name: WHOLES[id] })))),
      KINDS.map(({ kind, plural }) => {
        const items = itemsOf(document, kind);
        return items.length ? list(kind, `${plural} (${items.length})`, rows(items)) : null;
      }),
    );
  }

  root.addEventListener("keydown", (event) => goThrough(root, event));
  store.watch(["document", "selection", "unit", "answer", "tab"], draw);
  return { draw };
}

/** @typedef {Pick<import("../types.js").Item, "id"|"name"|"locked">} Row */

/** How many errors each item has. @param {import("../types.js").Finding[]} findings */
function errorsOf(findings) {
  /** @type {Map<string, number>} */
  const counts = new Map();
  for (const { accepted, level, items } of findings)
    if (!accepted && level === "error") for (const id of items) counts.set(id, (counts.get(id) ?? 0) + 1);
  return counts;
}

/** @param {string} name @param {string} title @param {HTMLElement[]} rows */
const list = (name, title, rows) =>
  h(
    "section",
    {},
    h("h3.list-head", { id: `list-${name}` }, title),
    h("ul.item-list", { "aria-labelledby": `list-${name}` }, rows),
  );

/** @param {Parts} parts @param {Row} item @param {number} count of its errors */
function row(parts, item, count) {
  const { store } = parts;
  const { document, selection, unit } = store.get();
  const at = centreOf(document, item.id);
  const hover = (/** @type {string|null} */ id) => () => store.set({ hover: id });
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
        onclick: (/** @type {MouseEvent} */ e) => choose(parts, item.id, e.shiftKey || e.ctrlKey || e.metaKey),
        onfocus: hover(item.id),
        onblur: hover(null),
        onmouseenter: hover(item.id),
        onmouseleave: hover(null),
      },
      h("span.id", {}, item.id),
      h("span.row-name", {}, item.name || (/** @type {{serves?: string}} */ (item).serves ?? "—")),
      h("span.place", {}, at ? `${format(at[0], unit, 1)}, ${format(at[1], unit, 1)}` : ""),
      count ? trouble(count) : item.locked && h("span.quiet", {}, "locked"),
    ),
  );
}

/** @param {number} count */
const trouble = (count) =>
  h("span.trouble", {}, h("span.unseen", {}, `, ${count} to fix`), h("span", { "aria-hidden": "true" }, `! ${count}`));

/** Selects an item and brings it into sight. @param {Parts} parts @param {string} id @param {boolean} adding */
function choose({ store, actions }, id, adding) {
  const { document, view, size } = store.get();
  actions.select([id], { adding });
  const at = centreOf(document, id);
  if (at) store.set({ view: shown(view, at, size) });
}

/** The arrow keys go from row to row. @param {HTMLElement} root @param {KeyboardEvent} event */
function goThrough(root, event) {
  if (!["ArrowDown", "ArrowUp", "Home", "End"].includes(event.key)) return;
  const rows = /** @type {HTMLElement[]} */ ([...root.querySelectorAll(".item-row")]);
  const at = rows.findIndex((row) => row === document.activeElement);
  if (at < 0) return;
  event.preventDefault();
  const to = { ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: rows.length - 1 }[event.key] ?? at;
  rows[Math.max(0, Math.min(rows.length - 1, to))].focus();
}
