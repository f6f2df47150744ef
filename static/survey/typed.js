/**
 * Inputs in tables. The step is drawn again whenever an answer comes; what is half typed then stays, because it is kept in
 * the step's memory until it is taken or given up.
 */

import { focusOn, h } from "../dom.js";
import { faultOf } from "../model/quantity.js";

/**
 * @typedef {Pick<import("../steps/parts.js").Context, "local"|"again">} Memory
 * @typedef {{keep: string, label: string, value: string, take: (text: string) => void, class?: string, most?: number, placeholder?: string, next?: string}} Field
 *   next: the field that Enter goes on to.
 *   `take` throws a `QuantityError` with a sentence when the text will not do.
 */

/** @param {Memory} context @param {Field} parts */
export function typed(context, parts) {
  const { local } = context;
  const { keep, label, value, class: kind, most, placeholder } = parts;
  local.typed ??= {};
  local.faults ??= {};
  const fault = local.faults[keep];
  const input = h("input", {
    type: "text",
    autocomplete: "off",
    spellcheck: "false",
    "aria-label": label,
    "data-keep": keep,
    class: kind,
    maxlength: most,
    placeholder,
    value: local.typed[keep] ?? value,
    "aria-invalid": fault ? "true" : null,
    "aria-describedby": fault ? `fault-${keep}` : null,
  });
  listen(input, context, parts);
  return fault ? h("span.typed", {}, input, h("span.problem", { id: `fault-${keep}` }, fault)) : input;
}

/** Takes what is typed when the field is left, or at Enter; Escape gives it up. @param {HTMLInputElement} input @param {Memory} context @param {Field} field */
function listen(input, { local, again }, { keep, value, take, next }) {
  const done = () => {
    const text = input.value.trim();
    if (local.typed[keep] === undefined) return;
    const fault = text === value ? "" : faultOf(() => take(text));
    if (!fault) {
      forget();
      return;
    }
    local.faults[keep] = fault;
    again();
  };
  const forget = () => {
    const had = local.faults[keep];
    delete local.typed[keep];
    delete local.faults[keep];
    if (had) again();
  };
  input.addEventListener("input", () => {
    local.typed[keep] = input.value;
  });
  input.addEventListener("focus", () => {
    if (local.typed[keep] === undefined) input.select();
  });
  // A redraw takes the focus away and gives it back at once; only when it is truly gone the text is taken.
  input.addEventListener("blur", () =>
    queueMicrotask(() => {
      if (/** @type {HTMLElement|null} */ (document.activeElement)?.dataset.keep !== keep) done();
    }),
  );
  input.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
    if (event.key === "Enter") {
      event.preventDefault();
      done();
      if (next && !local.faults[keep])
        requestAnimationFrame(() => requestAnimationFrame(() => focusOn(`[data-keep="${next}"]`)));
    }
    if (event.key === "Escape") {
      event.stopPropagation();
      forget();
      again();
    }
  });
}

/** A choice in a table. @param {{keep: string, label: string, value: string, options: [string, string][], change: (value: string) => void, empty?: string}} parts */
export function chosen({ keep, label, value, options, change, empty }) {
  const all = empty === undefined ? options : [/** @type {[string, string]} */ (["", empty]), ...options];
  return h(
    "select",
    { "aria-label": label, "data-keep": keep, onchange: (event) => change(event.currentTarget.value) },
    all.map(([key, words]) => h("option", { value: key, selected: key === (value ?? "") }, words)),
  );
}
