/** Fields with their help, their unit and their mistakes: the same everywhere on the page. */

import { h } from "../dom.js";
import { OWN_UNIT, QuantityError, format, parseQuantity } from "../model/quantity.js";

/** @typedef {import("./fields.js").Field} Field */

let counted = 0;

/**
 * One field. A mistake is said beside it and nothing is changed.
 * @param {Field} field @param {any} value what the document has, or the usual value
 * @param {{unit: "mm"|"in", change: (value: any) => void, keep: string, given?: boolean, disabled?: boolean}} options
 */
export function field(field, value, { unit, change, keep, given = true, disabled = false }) {
  const id = `field-${(counted += 1)}`;
  const input = makeInput(field, value, { unit, keep, id, disabled });
  const problem = h("p.problem", { id: `${id}-problem`, hidden: true });
  const help = h("p.help", { id: `${id}-help`, hidden: true }, field.help);
  const ask = h(
    "button.ask",
    {
      type: "button",
      "aria-expanded": "false",
      "aria-controls": `${id}-help`,
      "aria-label": `What is “${field.label}”?`,
      "data-keep": `${keep}-help`,
      onclick: () => {
        help.hidden = !help.hidden;
        ask.setAttribute("aria-expanded", String(!help.hidden));
      },
    },
    "?",
  );
  input.setAttribute("aria-describedby", `${id}-help ${id}-problem`);

  let last = given ? value : null;

  function take() {
    delete input.dataset.typing;
    const read = readValue(field, input, unit);
    if ("problem" in read) {
      problem.textContent = read.problem;
      problem.hidden = false;
      input.setAttribute("aria-invalid", "true");
      return;
    }
    problem.hidden = true;
    input.removeAttribute("aria-invalid");
    // Enter takes the value, and leaving the field would take it again.
    if (same(read.value, last)) return;
    last = read.value;
    change(read.value);
  }

  input.addEventListener("change", take);
  input.addEventListener("input", () => {
    input.dataset.typing = "";
  });
  input.addEventListener("blur", () => {
    if (input.dataset.typing !== undefined) take();
  });
  if (input.tagName === "INPUT" && input.type === "text") {
    input.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
      if (event.key === "Enter") take();
      if (event.key === "Escape") {
        delete input.dataset.typing;
        input.value = shownText(field, value, unit);
        problem.hidden = true;
        input.removeAttribute("aria-invalid");
        event.stopPropagation();
      }
    });
    input.addEventListener("focus", () => input.select());
  }
  const word = unitWord(field, unit);
  return h(
    "div.field",
    { dataset: { type: field.type } },
    h("label", { for: id }, field.label),
    h("span.entry", {}, input, word && h("span.unit", { "aria-hidden": "true" }, word)),
    ask,
    help,
    problem,
  );
}

/** @param {any} a @param {any} b */
const same = (a, b) => a === b || (Array.isArray(a) && Array.isArray(b) && a.join() === b.join());

/** @param {Field} field @param {any} value @param {{unit: "mm"|"in", keep: string, id: string, disabled: boolean}} options @returns {any} */
function makeInput(field, value, { unit, keep, id, disabled }) {
  const common = { id, "data-keep": keep, disabled };
  if (field.type === "choice") {
    const options = field.optional ? [["", "—"], ...(field.options ?? [])] : (field.options ?? []);
    return h(
      "select",
      common,
      options.map(([key, words]) => h("option", { value: key, selected: key === (value ?? "") }, words)),
    );
  }
  if (field.type === "yes") return h("input", { ...common, type: "checkbox", checked: Boolean(value) });
  if (field.rows) return h("textarea", { ...common, rows: field.rows, value: value ?? "" });
  const plain = field.type === "text" || field.type === "ids";
  return h("input", {
    ...common,
    type: "text",
    inputmode: plain ? null : "text",
    autocomplete: "off",
    spellcheck: "false",
    maxlength: field.type === "text" ? field.most : null,
    value: shownText(field, value, unit),
  });
}

/** @param {Field} field @param {any} value @param {"mm"|"in"} unit */
function shownText(field, value, unit) {
  if (value === null || value === undefined) return "";
  if (field.type === "ids") return value.join(", ");
  if (typeof value !== "number") return String(value);
  return format(value, field.type === "length" ? unit : "mm", 4);
}

/** @param {Field} field @param {"mm"|"in"} unit */
function unitWord(field, unit) {
  if (field.type === "length") return unit;
  return field.type in OWN_UNIT ? OWN_UNIT[/** @type {keyof typeof OWN_UNIT} */ (field.type)] : "";
}

/** @param {Field} field @param {any} input @param {"mm"|"in"} unit @returns {{value: any}|{problem: string}} */
export function readValue(field, input, unit) {
  if (field.type === "yes") return { value: input.checked };
  const text = String(input.value).trim();
  if (field.type === "choice") return { value: text === "" ? null : text };
  if (field.type === "text") return { value: text };
  if (field.type === "ids") return { value: text.split(/[\s,;]+/).filter(Boolean) };
  if (!text) return field.optional ? { value: null } : { problem: "A number belongs here." };
  try {
    const value = parseQuantity(text, /** @type {any} */ (field.type), field.type === "length" ? unit : undefined);
    const words = (/** @type {number} */ v) =>
      `${format(v, field.type === "length" ? unit : "mm")} ${unitWord(field, unit)}`.trim();
    if (field.above !== undefined && value <= field.above)
      return { problem: `It must be more than ${words(field.above)}.` };
    if (field.least !== undefined && value < field.least)
      return { problem: `It must be at least ${words(field.least)}.` };
    if (field.most !== undefined && value > field.most) return { problem: `It must be at most ${words(field.most)}.` };
    if (field.type === "length" && Math.abs(value) > 5000)
      return { problem: "Nothing on a case floor is farther away than 5 m." };
    return { value };
  } catch (error) {
    if (error instanceof QuantityError) return { problem: error.message };
    throw error;
  }
}

/** A button with words. @param {string} words @param {() => void} act @param {Record<string, any>} [more] */
export const button = (words, act, more = {}) => h("button", { type: "button", onclick: act, ...more }, words);
