/** A length in a table of corners: without a label of its own to see. */

import { h } from "../dom.js";
import { QuantityError, faultOf, format, parseQuantity } from "../model/quantity.js";

/**
 * @typedef {object} Bare
 * @property {string} keep
 * @property {string} name  for who hears the page
 * @property {number|null} value  in mm; null is shown as empty
 * @property {string} [hint]  what is shown when it is empty; with one it may be
 * @property {boolean} [signed]  whether it may be below 0; a place always may
 * @property {string|null} [locked]  why it cannot be changed
 */

/**
 * @param {Pick<import("./itempanel.js").Parts, "store"|"actions">} parts @param {Bare} bare
 * @param {(value: number|null) => void} change
 */
export function bareLength({ store, actions }, { keep, name, value, hint = "", signed = !hint, locked = null }, change) {
  const { unit } = store.get();
  const shown = value === null ? "" : format(value, unit, unit === "mm" ? 2 : 3);
  const take = (/** @type {HTMLInputElement} */ input) => {
    const text = input.value.trim();
    const fault = faultOf(() => {
      if (text === shown) return;
      const next = text ? parseQuantity(text, "length", unit) : null;
      if (next === null && !hint) throw new QuantityError("A number belongs here.");
      if (next !== null && !signed && next < 0) throw new QuantityError("A radius is 0 or more.");
      change(next);
    });
    if (!fault) return void input.removeAttribute("aria-invalid");
    input.setAttribute("aria-invalid", "true");
    actions.say(fault);
  };
  return h("input", {
    type: "text",
    "aria-label": name,
    placeholder: hint,
    autocomplete: "off",
    disabled: locked !== null,
    title: locked ?? name,
    "data-keep": keep,
    value: shown,
    onchange: (event) => take(event.currentTarget),
  });
}
