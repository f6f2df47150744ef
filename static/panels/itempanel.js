/** The item panel: numbers of what is selected, its place in groups, and what can be done with it. */

import { h, refill } from "../dom.js";
import { find, isWhole, outlineOf } from "../model/document.js";
import { dig } from "../model/edit.js";
import { format } from "../model/quantity.js";
import { oneItem } from "./oneitem.js";
import { severalItems } from "./severalitems.js";
import { wholeItem } from "./wholeitem.js";

/**
 * @typedef {import("../types.js").State} State
 * @typedef {{store: import("../types.js").Store, actions: import("../types.js").Actions, stage: import("../types.js").Stage,
 *   api: import("../types.js").Api, ask: (what: string, run: () => Promise<void>) => Promise<void>, root: HTMLElement,
 *   memory: Memory, again: () => void}} Parts
 * @typedef {{moreOpen: boolean, between: import("./between.js").Known|null, cards: import("../types.js").Memory}} Memory  what outlives a redraw
 * (cards, any: each part of a card keeps what it needs under its own names)
 */

/** @param {Omit<Parts, "memory"|"again">} given */
export function createItemPanel(given) {
  const { store, root } = given;
  /** @type {Parts} */
  const parts = { ...given, memory: { moreOpen: false, between: null, cards: {} }, again: draw };

  /** What the panel was last about: something else is read from its top. */
  let shownOf = "";

  function draw() {
    const state = store.get();
    const document = state.draft ?? state.document;
    if (!document) return;
    const selected = state.selection.filter((id) => find(document, id));
    delete root.dataset.of;
    const of = state.selection.join(" ");
    if (of !== shownOf) root.scrollTop = 0;
    shownOf = of;
    const [whole] = state.selection;
    if (state.selection.length === 1 && isWhole(document, whole)) refill(root, wholeItem(parts, document, whole));
    else if (!selected.length) refill(root, nothing());
    else if (selected.length > 1) refill(root, severalItems(parts, document, selected, draw));
    else {
      refill(root, oneItem(parts, document, selected[0]));
      root.dataset.of = selected[0];
      root.dataset.corners = String(cornersIn(document, selected[0]));
    }
  }

  let waiting = false;
  store.watch(["selection", "document", "draft", "spot", "unit"], (now) => {
    if (!now.draft) return draw();
    // While something is dragged the panel keeps to the frames; the drawing comes first.
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      if (!renumbered(store.get(), root)) draw();
    });
  });
  return { draw };
}

const nothing = () =>
  h(
    "p.quiet",
    {},
    "Nothing is selected. Click an item on the drawing, or choose one under “All items”. Shift adds to the selection; Shift and a drag on empty floor selects all within.",
  );

/** @param {import("../types.js").PlateDocument} document @param {string} id */
function cornersIn(document, id) {
  const outline = outlineOf(document, id);
  return outline?.shape === "polygon" ? outline.vertices.length : pointsIn(find(document, id)?.item);
}

/** @param {import("../types.js").Item|undefined} item */
const pointsIn = (item) => (item?.points ?? item?.tube?.points ?? []).length;

/** While one item is dragged its panel stays and only its numbers change. @param {State} state @param {HTMLElement} root @returns {boolean} whether that was enough */
function renumbered({ draft, selection, unit }, root) {
  const [id] = selection;
  const item = draft && selection.length === 1 ? find(draft, id)?.item : null;
  if (!item || root.dataset.of !== id || pointsIn(item) !== Number(root.dataset.corners)) return false;
  for (const input of /** @type {NodeListOf<HTMLInputElement>} */ (root.querySelectorAll("input[data-keep]"))) {
    const key = input.dataset.keep ?? "";
    if (input.type !== "text" || !key.startsWith(`${id}-`)) continue;
    const value = dig(item, key.slice(id.length + 1).split("-"));
    if (typeof value === "number") input.value = format(value, unit, 3);
  }
  return true;
}
