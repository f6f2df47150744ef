/** What every step panel is made of. A panel is a function from the page's parts to what it shows now. */

import { h } from "../dom.js";
import { dig, put } from "../model/edit.js";
import { field, same } from "../panels/form.js";

/**
 * @typedef {import("../types.js").Child} Child
 * @typedef {import("../types.js").Actions} Actions
 * @typedef {{store: import("../types.js").Store, actions: Actions, api: import("../types.js").Api,
 *   ask: (what: string, run: () => Promise<void>) => Promise<void>, local: import("../types.js").Memory, again: () => void}} Context
 * `local` is the step's own memory while the page is open; `again` redraws the step.
 */

/** A field of the document itself. @param {Pick<Context, "store"|"actions">} context @param {import("../panels/fields.js").Field} spec */
export function documentField({ store, actions }, spec) {
  const { document, unit } = store.get();
  const given = dig(document, spec.path);
  return field(spec, given ?? spec.usual ?? null, {
    unit,
    keep: spec.path.join("-"),
    given: given !== undefined && given !== null,
    change: (next) =>
      actions.edit(`Change ${spec.label.toLowerCase()}`, (d) =>
        put(d, spec.path, next === null || (same(next, spec.usual) && !spec.always) ? undefined : next),
      ),
  });
}

/** A part of a step with a heading. @param {string} title @param {...Child} children */
export const part = (title, ...children) => h("section.part", {}, h("h3", {}, title), ...children);

/** A part that opens when it is wanted; its title is a heading, so that a screen reader's list of headings has it. @param {string} title @param {boolean} open @param {...Child} children */
export const fold = (title, open, ...children) => folding("h3.fold-title", title, open, children);

/** The same within a part. @param {string} title @param {boolean} open @param {...Child} children */
export const innerFold = (title, open, ...children) => folding("h4.fold-title", title, open, children);

/** @param {string} heading @param {string} title @param {boolean} open @param {Child[]} children */
const folding = (heading, title, open, children) =>
  h(
    "details.part.fold",
    { open },
    h("summary", { "data-keep": `fold-${title}` }, h(heading, {}, title)),
    ...children,
  );

/** What is missing on the step, in a sentence; or that nothing is. @param {{missing: string, done: boolean}} progress */
export const lead = (progress) =>
  progress.missing
    ? h("p.missing", {}, h("span.missing-sign", { "aria-hidden": "true" }, "→"), ` ${progress.missing}`)
    : null;

/** The cautions of some steps of the work, each once, in the words of the program's own table: a title each, and more. @param {Context} context @param {string[]} steps */
export const cautions = ({ store }, steps) =>
  h(
    "div.cautions",
    { role: "note", "aria-label": "Cautions" },
    (store.get().reference?.cautions ?? [])
      .filter((c) => c.steps.some((step) => steps.includes(step)))
      .map((c) =>
        h(
          "details.caution.fold",
          {},
          h("summary", { "data-keep": `caution-${c.title}` }, h("h4", {}, c.title)),
          h("p", {}, c.text),
          h("p", {}, c.defer),
        ),
      ),
  );

/** Words with the sign of a negative number as it is printed. @param {Child} cell @returns {Child} */
const printed = (cell) => (typeof cell === "string" ? cell.replace(/(^|[ (,])-(?=\d)/g, "$1−") : cell);

/** A table of plain rows. @param {string} caption @param {string[]} heads @param {Child[][]} rows @param {import("../types.js").Props} [more] */
export function table(caption, heads, rows, more = {}) {
  return h(
    "table",
    more,
    h("caption", {}, caption),
    h(
      "thead",
      {},
      h(
        "tr",
        {},
        heads.map((head) => h("th", { scope: "col" }, head)),
      ),
    ),
    h(
      "tbody",
      {},
      rows.map((cells) =>
        h(
          "tr",
          {},
          cells.map((cell, i) => (i ? h("td", {}, printed(cell)) : h("th", { scope: "row" }, cell))),
        ),
      ),
    ),
  );
}
