/** All that the document holds for a step, key by key: nothing in the file is out of reach of the page. */

import { h } from "../dom.js";
import { PARTS } from "../format_parts.js";
import { put } from "../model/edit.js";
import { heldPart, record } from "../panels/record.js";

/**
 * @typedef {import("../types.js").Child} Child
 * @typedef {import("../panels/record.js").Host} Host
 */

/** The keys of the document that belong to each step. @type {Record<string, string[]>} */
const OF_STEP = {
  measure: ["floor", "survey", "photo", "ties"],
  "lay-out": ["plate", "grid"],
  channels: ["loop"],
  check: ["shop", "spreads", "accepted"],
  "test-piece": ["test_piece", "fit_readings", "landings"],
  "hand-off": ["name", "note", "seal", "drawing"],
};

/** Lists of items, each of which has a panel of its own. */
const ITEMS = ["obstacles", "openings", "tubes"];

/** @param {import("./parts.js").Context} context @param {string} step @returns {Child} */
export function allValues(context, step) {
  const { local, again } = context;
  const open = Boolean(local.allValues);
  return h(
    "details.part.fold.all-values",
    {
      open,
      ontoggle: (/** @type {Event & {currentTarget: HTMLDetailsElement}} */ event) => {
        if (event.currentTarget.open === Boolean(local.allValues)) return;
        local.allValues = event.currentTarget.open;
        again();
      },
    },
    h("summary", { "data-keep": "fold-all-values" }, h("h3.fold-title", {}, "All values")),
    open ? drawn(context, step) : null,
  );
}

/** The fields, made anew only for another document: a step is drawn again for every answer. @param {import("./parts.js").Context} context @param {string} step */
function drawn(context, step) {
  const { store, local } = context;
  const { document, unit } = store.get();
  const { made } = local;
  if (made?.document === document && made.unit === unit) return made.element;
  const element = h(
    "div",
    {},
    h("p.quiet", {}, "Everything that the file keeps of this step, key by key."),
    parts(host(context), OF_STEP[step] ?? []),
  );
  local.made = { document, unit, element };
  return element;
}

/** @param {import("./parts.js").Context} context @returns {Host} */
function host({ store, actions, local }) {
  const { document, unit } = store.get();
  return {
    whole: document,
    document,
    unit,
    keep: "all",
    memory: (local.allRows ??= {}),
    change: (path, value, what) => actions.edit(`Change ${what.toLowerCase()}`, (d) => put(d, path, value)),
  };
}

/** @param {Host} host @param {string[]} keys @returns {Child} */
const parts = (host, keys) =>
  keys.map((key) => {
    const held = PARTS.Document[key];
    if (!held) return record(host, "Document", [], { only: [key] });
    if (held.held !== "one") return heldPart(host, "Document", key, []);
    return h(
      "section.sub",
      { "aria-label": `${held.label}, all values` },
      h("h4", {}, held.label),
      record(host, held.model, [key], { skip: ITEMS }),
    );
  });
