/** What every sheet is made of. A sheet is a function from the page's parts to what it shows now. */

import { h } from "../dom.js";
import { dig, put } from "../model/edit.js";
import { field } from "../panels/form.js";

/**
 * @typedef {{store: any, actions: any, api: any, ask: (what: string, run: () => Promise<any>) => Promise<void>, local: Record<string, any>, again: () => void}} Context
 * `local` is the sheet's own memory while the page is open; `again` draws it anew.
 */

/** A field of the document itself. @param {Context} context @param {any} spec @param {{usual?: any}} [more] */
export function documentField({ store, actions }, spec, more = {}) {
  const { document, unit } = store.get();
  const given = dig(document, spec.path);
  return field(spec, given ?? spec.usual ?? more.usual ?? null, {
    unit,
    keep: spec.path.join("-"),
    given: given !== undefined && given !== null,
    change: (next) =>
      actions.edit(`Change ${spec.label.toLowerCase()}`, (/** @type {any} */ d) =>
        put(d, spec.path, next === null || (next === spec.usual && !spec.always) ? undefined : next),
      ),
  });
}

/** A part of a sheet with a heading. @param {string} title @param {...any} children */
export const part = (title, ...children) => h("section.part", {}, h("h3", {}, title), ...children);

/** A part that opens when it is wanted. @param {string} title @param {boolean} open @param {...any} children */
export const fold = (title, open, ...children) =>
  h(
    "details.part.fold",
    { open },
    h("summary", { "data-keep": `fold-${title}` }, h("span.fold-title", {}, title)),
    ...children,
  );

/** What is missing on the step, in a sentence; or that nothing is. @param {{missing: string, done: boolean}} progress */
export const lead = (progress) =>
  progress.missing
    ? h("p.missing", {}, h("span.missing-sign", { "aria-hidden": "true" }, "→"), ` ${progress.missing}`)
    : null;

/** A caution where the work is. @param {string} title @param {...any} words */
export const caution = (title, ...words) =>
  h("div.caution", { role: "note" }, h("strong", {}, title), ...words.map((w) => h("p", {}, w)));

/** The cautions of some steps of the work, each once, in the words of the program's own table. @param {Context} context @param {string[]} steps */
export const cautions = ({ store }, steps) =>
  (store.get().reference?.cautions ?? [])
    .filter((/** @type {any} */ c) => c.steps.some((/** @type {string} */ step) => steps.includes(step)))
    .map((/** @type {any} */ c) => caution(c.title, c.text, c.defer));

/** A table of plain rows. @param {string} caption @param {string[]} heads @param {any[][]} rows @param {Record<string, any>} [more] */
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
          cells.map((cell, i) => (i ? h("td", {}, cell) : h("th", { scope: "row" }, cell))),
        ),
      ),
    ),
  );
}
