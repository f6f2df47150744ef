/**
 * The part at the right, with findings and items. On a narrow window it folds to a rail, so that the drawing has the room;
 * it opens when something is selected, and by its own buttons; while a tool is in use it keeps off. The drawing keeps its place under it.
 */

import { byId, h, refill } from "../dom.js";
import { sign } from "../canvas/signs.js";
import { verdictOf } from "../model/verdict.js";

/** From this width of the window on there is room for both, px. */
const ROOMY = 1500;

/** @typedef {import("../types.js").State} State */

/** Tools that one takes again and again: what they have just made does not open this part over the next place. */
const IN_A_ROW = ["channel", "branch"];

/**
 * Whether it is open: as the user wants it, or by itself while something is selected and no tool wants the room.
 * @param {Pick<State, "margin"|"selection"|"finding"|"tool">} state @param {number} width of the window, px @param {readonly string[]|null} [made] a selection that a tool has just made
 */
export function isOpen({ margin, selection, finding, tool }, width, made = null) {
  if (margin !== "auto") return margin === "open";
  if (width >= ROOMY) return true;
  return !tool && ((selection.length > 0 && selection !== made) || Boolean(finding));
}

/** What the rail says: how many errors and warnings, and the verdict. @param {State} state @param {boolean} open */
function told(state, open) {
  const found = (state.answer?.findings ?? []).filter((f) => !f.accepted);
  const count = (/** @type {string} */ level) => found.filter((f) => f.level === level).length;
  const { kind, words } = verdictOf(state.answer, state.old);
  return { open, errors: count("error"), warnings: count("warning"), kind, words };
}

/** @typedef {import("../types.js").Store} Store */

/** @param {{store: Store, showTab: (name: string) => void}} parts */
export function createMargin({ store, showTab }) {
  const root = byId("margin");
  const rail = byId("rail");
  let drawn = "";
  /** @type {readonly string[]|null} */
  let made = null;

  function draw() {
    const state = store.get();
    const now = told(state, isOpen(state, window.innerWidth, made));
    document.documentElement.dataset.margin = now.open ? "open" : "shut";
    if (JSON.stringify(now) === drawn) return;
    drawn = JSON.stringify(now);
    refill(rail, foldButton(store, now.open), !now.open && [findingsButton(store, now), itemsButton(store, showTab)]);
  }

  // Who comes to it by keyboard finds it open.
  root.addEventListener("focusin", (event) => {
    if (event.target === root && store.get().margin !== "open") store.set({ margin: "open" });
  });
  store.subscribe((now, before) => {
    if (now.selection === before.selection) return;
    const wasOpen = document.documentElement.dataset.margin === "open";
    made = IN_A_ROW.includes(before.tool?.use ?? "") && !wasOpen ? now.selection : null;
  });
  store.watch(["margin", "selection", "finding", "tool", "answer", "old"], draw);
  window.addEventListener("resize", draw);
  draw();
}

/** @param {Store} store @param {boolean} open */
const foldButton = (store, open) =>
  h(
    "button.icon",
    {
      type: "button",
      "aria-expanded": String(open),
      "aria-controls": "findings-part item-part",
      "aria-label": open ? "Fold findings and items" : "Open findings and items",
      title: open ? "Fold" : "Open findings and items",
      "data-keep": "rail-fold",
      onclick: () => store.set({ margin: open ? "shut" : "open" }),
    },
    open ? "»" : "«",
  );

/** @param {Store} store @param {ReturnType<typeof told>} now */
const findingsButton = (store, { errors, warnings, kind, words }) =>
  h(
    "button.rail-findings",
    {
      type: "button",
      title: words,
      "aria-label": `Findings: ${errors} errors, ${warnings} warnings`,
      "data-keep": "rail-findings",
      onclick: () => store.set({ margin: "open" }),
    },
    errors > 0 && h("span", {}, sign("error"), String(errors)),
    warnings > 0 && h("span", {}, sign("warning"), String(warnings)),
    h("span.rail-words", { "aria-hidden": "true" }, kind === "kept" ? "✓ Findings" : "Findings"),
  );

/** @param {Store} store @param {(name: string) => void} showTab */
const itemsButton = (store, showTab) =>
  h(
    "button.rail-items",
    {
      type: "button",
      "data-keep": "rail-items",
      onclick: () => {
        store.set({ margin: "open" });
        showTab("items");
      },
    },
    h("span.rail-words", {}, "All items"),
  );
