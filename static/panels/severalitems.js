/** The panel of several selected items: aligned, spaced, grouped, and what lies between two. */

import { h } from "../dom.js";
import * as arrange from "../model/arrange.js";
import { find } from "../model/document.js";
import { group, lock, ungroup } from "../model/edit.js";
import { between } from "./between.js";
import { button } from "./form.js";
import { itemActions, moveBy } from "./itemactions.js";
import { lockBox } from "./oneitem.js";

/**
 * @typedef {import("./itempanel.js").Parts} Parts
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 */

/** @type {[arrange.Side, string][]} */
const SIDES = [
  ["left", "Left edges"],
  ["middle", "Centres, left–right"],
  ["right", "Right edges"],
  ["front", "Front edges"],
  ["centre", "Centres, front–rear"],
  ["rear", "Rear edges"],
];

/** @param {Parts} parts @param {PlateDocument} document @param {string[]} ids @param {() => void} again */
export function severalItems(parts, document, ids, again) {
  const { actions } = parts;
  const allLocked = ids.every((id) => find(document, id)?.item.locked);
  return [
    h(
      "header.item-head",
      {},
      h("h3", {}, `${ids.length} items`),
      lockBox(allLocked, (locked) =>
        actions.edit(locked ? "Lock several" : "Unlock several", (d) => lock(d, ids, locked)),
      ),
    ),
    h(
      "ul.chips",
      {},
      ids.map((id) =>
        h(
          "li",
          {},
          button(id, () => actions.select([id]), { class: "chip", "data-keep": `chip-${id}` }),
        ),
      ),
    ),
    moveBy(parts),
    alignment(parts, ids),
    itemActions(parts, "", ids),
    grouping(parts, document, ids),
    ids.length === 2 ? between(parts, document, ids, again) : null,
  ];
}

/** Alignment and spacing by the true outlines, which the server knows. @param {Parts} parts @param {string[]} ids */
function alignment({ actions, api, store, ask }, ids) {
  /** @param {string} label @param {(document: PlateDocument, extents: arrange.Extents) => PlateDocument} change */
  const arranged = (label, change) =>
    ask(label, async () => {
      const { document } = store.get();
      const { extents } = await api.measure(document, ids);
      // Somebody may have gone on meanwhile: what they did counts, and this does not.
      if (store.get().document === document) actions.commit(change(document, extents), label);
    });
  /** @param {"x"|"y"} axis @param {string} words */
  const spaced = (axis, words) =>
    button(words, () => arranged("Space evenly", (d, extents) => arrange.space(d, ids, axis, extents)), {
      disabled: ids.length < 3,
    });
  return h(
    "section.sub",
    { role: "group", "aria-label": "Align and space" },
    h("h4", {}, `Align to ${ids[0]}`),
    h(
      "div.actions-row",
      {},
      SIDES.map(([side, words]) =>
        button(
          words,
          () => arranged(`Align ${ids.length} items`, (d, extents) => arrange.align(d, ids, side, extents)),
          {
            "data-keep": `align-${side}`,
          },
        ),
      ),
    ),
    h("h4", {}, "Space evenly"),
    h("div.actions-row", {}, spaced("x", "Left to right"), spaced("y", "Front to rear")),
  );
}

/** @param {Parts} parts @param {PlateDocument} document @param {string[]} ids */
function grouping({ actions, store }, document, ids) {
  const grouped = (document.groups ?? []).some((g) => ids.some((id) => (g.members ?? []).includes(id)));
  return h(
    "div.actions-row",
    {},
    button("Group", () => {
      const made = group(store.get().document, ids, "");
      actions.commit(made.document, `Group ${made.id}`, { selection: [made.id] });
    }),
    button("Ungroup", () => actions.edit("Ungroup", (d) => ungroup(d, ids)), { disabled: !grouped }),
  );
}
