/** Fields with their help, their unit and their mistakes: the same everywhere on the page. */

import { h } from "../dom.js";
import { OWN_UNIT, QuantityError, UNITS, faultOf, format, parseQuantity } from "../model/quantity.js";

/**
 * @typedef {Omit<import("./fields.js").Field, "path">} Field  where it is written is the caller's business
 * @typedef {import("../types.js").Unit} Unit
 * @typedef {import("../types.js").FieldValue} FieldValue
 * @typedef {HTMLInputElement|HTMLSelectElement|HTMLTextAreaElement} Input
 * @typedef {{unit: Unit, change: (value: FieldValue) => void, keep: string, given?: boolean}} Options
 *   keep: a name that outlives a redraw; given: whether the value stands in the document
 */

/** Nothing on a case floor is farther away, mm. */
const FARTHEST = 5000;

let counted = 0;

/**
 * One field. A mistake is said beside it and nothing is changed.
 * @param {Field} spec @param {unknown} value what the document has, or the default @param {Options} options
 */
export function field(spec, value, { unit, change, keep, given = true }) {
  if (spec.type === "several") return several(spec, value, { change, keep });
  const id = `field-${(counted += 1)}`;
  const input = makeInput(spec, value, { unit, keep, id });
  const problem = h("p.problem", { id: `${id}-problem`, hidden: true });
  const help = h("p.help", { id: `${id}-help`, hidden: true }, spec.help);
  input.setAttribute("aria-describedby", `${id}-help ${id}-problem`);
  listen(input, {
    read: () => readValue(spec, input, unit),
    change,
    last: given ? value : null,
    reset: shownText(spec, value, unit),
    problem,
  });
  const word = unitWord(spec, unit);
  return h(
    crowded(spec, value) ? "div.field.wide" : "div.field",
    { dataset: { type: spec.type } },
    h("label", { for: id }, spec.label),
    h("span.entry", {}, input, word && h("span.unit", { "aria-hidden": "true" }, word)),
    helpButton(spec.label, help, keep),
    help,
    problem,
  );
}

/** More letters than these do not go beside an entry, or into it. */
const MOST_LETTERS = { label: 30, choice: 10, text: 12 };

/** Whether label and entry each want a line. @param {Field} spec @param {unknown} value */
const crowded = (spec, value) =>
  spec.label.length > MOST_LETTERS.label ||
  ((spec.type === "text" || isList(spec)) && shownText(spec, value, "mm").length > MOST_LETTERS.text) ||
  (spec.type === "choice" && (spec.options ?? []).some(([, words]) => words.length > MOST_LETTERS.choice));

/** Boxes to tick, for a key that holds several of a few words. @param {Field} spec @param {unknown} value @param {Pick<Options, "change"|"keep">} options */
function several(spec, value, { change, keep }) {
  const held = new Set(Array.isArray(value) ? value : []);
  return h(
    "fieldset.several",
    {},
    h("legend", {}, spec.label),
    (spec.options ?? []).map(([key, words]) =>
      h(
        "label.check",
        {},
        h("input", {
          type: "checkbox",
          value: key,
          checked: held.has(key),
          "data-keep": `${keep}-${key}`,
          onchange: (event) => {
            if (event.currentTarget.checked) held.add(key);
            else held.delete(key);
            change((spec.options ?? []).map(([one]) => one).filter((one) => held.has(one)));
          },
        }),
        ` ${words}`,
      ),
    ),
  );
}

/** @param {string} label @param {HTMLElement} help @param {string} keep */
function helpButton(label, help, keep) {
  return h(
    "button.ask",
    {
      type: "button",
      "aria-expanded": "false",
      "aria-controls": help.id,
      "aria-label": `What is “${label}”?`,
      "data-keep": `${keep}-help`,
      onclick: (event) => {
        help.hidden = !help.hidden;
        event.currentTarget.setAttribute("aria-expanded", String(!help.hidden));
      },
    },
    "?",
  );
}

/**
 * Takes what is typed when it is finished: on Enter, on a change, on leaving. Escape gives it up.
 * @param {Input} input
 * @param {{read: () => {value: FieldValue}|{problem: string}, change: (value: FieldValue) => void, last: unknown, reset: string, problem: HTMLElement}} parts
 */
function listen(input, { read, change, last, reset, problem }) {
  const complain = (/** @type {string} */ words) => {
    problem.textContent = words;
    problem.hidden = !words;
    if (words) input.setAttribute("aria-invalid", "true");
    else input.removeAttribute("aria-invalid");
  };
  let taken = last;
  const take = () => {
    delete input.dataset.typing;
    const found = read();
    if ("problem" in found) return complain(found.problem);
    complain("");
    // Enter takes the value, and leaving the field would take it again.
    if (same(found.value, taken)) return;
    taken = found.value;
    change(found.value);
  };
  input.addEventListener("change", take);
  input.addEventListener("input", () => {
    input.dataset.typing = "";
  });
  input.addEventListener("blur", () => {
    if (input.dataset.typing !== undefined) take();
  });
  if (!(input instanceof HTMLInputElement) || input.type !== "text") return;
  input.addEventListener("keydown", (event) => {
    if (event.key === "Enter") take();
    if (event.key !== "Escape") return;
    delete input.dataset.typing;
    input.value = reset;
    complain("");
    event.stopPropagation();
  });
  input.addEventListener("focus", () => input.select());
}

/** @param {unknown} a @param {unknown} b */
export const same = (a, b) => a === b || (Array.isArray(a) && Array.isArray(b) && a.join() === b.join());

/** @param {Field} spec */
const isList = (spec) => spec.type === "ids" || spec.type === "numbers";

/** Choices with the value that stands in the document, though no table has it. @param {string[][]} options @param {unknown} value */
export const withCurrent = (options, value) =>
  typeof value !== "string" || !value || options.some(([key]) => key === value) ? options : [...options, [value, value]];

/** @param {Field} spec @param {unknown} value @param {{unit: Unit, keep: string, id: string}} options @returns {Input} */
function makeInput(spec, value, { unit, keep, id }) {
  const common = { id, "data-keep": keep };
  if (spec.type === "choice") {
    const options = withCurrent(spec.optional ? [["", "—"], ...(spec.options ?? [])] : (spec.options ?? []), value);
    return h(
      "select",
      common,
      options.map(([key, words]) => h("option", { value: key, selected: key === (value ?? "") }, words)),
    );
  }
  if (spec.type === "yes") return h("input", { ...common, type: "checkbox", checked: Boolean(value) });
  if (spec.rows) return h("textarea", { ...common, rows: spec.rows, value: value ?? "" });
  return h("input", {
    ...common,
    type: "text",
    inputmode: spec.type === "text" || isList(spec) ? null : "text",
    autocomplete: "off",
    spellcheck: "false",
    placeholder: spec.hint ?? null,
    maxlength: spec.type === "text" ? spec.most : null,
    value: shownText(spec, value, unit),
  });
}

/** A value as its field shows it. @param {Field} spec @param {unknown} value @param {Unit} unit */
export function shownText(spec, value, unit) {
  if (value === null || value === undefined) return "";
  if (Array.isArray(value)) return value.join(", ");
  if (typeof value !== "number") return String(value);
  const inOwn = value / inUnits(spec);
  // Six digits at least, so that a small figure in a large unit is not shown as nothing.
  const digits = spec.type !== "length" && inOwn && Math.abs(inOwn) < 0.1 ? 5 - Math.floor(Math.log10(Math.abs(inOwn))) : 4;
  return format(inOwn, spec.type === "length" ? unit : "mm", Math.min(digits, 12));
}

/** How many of the kind's own unit the unit of a field is. @param {Field} spec */
function inUnits({ type, unit }) {
  /** @type {Record<string, number>} */
  const known = (type in UNITS && UNITS[/** @type {keyof typeof UNITS} */ (type)]) || {};
  return (unit && known[unit.toLowerCase()]) || 1;
}

/** The unit beside a field. @param {Field} spec @param {Unit} unit */
export function unitWord(spec, unit) {
  if (spec.type === "length") return unit;
  if (spec.unit) return spec.unit;
  return spec.type in OWN_UNIT ? OWN_UNIT[/** @type {keyof typeof OWN_UNIT} */ (spec.type)] : "";
}

/** @param {Field} spec @param {Input} input @param {Unit} unit @returns {{value: FieldValue}|{problem: string}} */
export function readValue(spec, input, unit) {
  if (input instanceof HTMLInputElement && spec.type === "yes") return { value: input.checked };
  const text = input.value.trim();
  switch (spec.type) {
    case "choice":
      return { value: text === "" ? null : text };
    case "text":
      return { value: text };
    case "ids":
      return { value: text || !spec.optional ? parted(text) : null };
    case "numbers":
      return text || !Array.isArray(spec.usual) || spec.usual.length
        ? readNumbers(text)
        : { value: null };
    default:
      if (text) return readNumber(spec, text, unit);
      return spec.optional ? { value: null } : { problem: "A number belongs here." };
  }
}

/** @param {string} text */
const parted = (text) => text.split(/[\s,;]+/).filter(Boolean);

/** Lengths with commas between them. @param {string} text @returns {{value: number[]}|{problem: string}} */
function readNumbers(text) {
  const found = parted(text).map(Number);
  return found.length && found.every((value) => value > 0 && value <= FARTHEST)
    ? { value: found }
    : { problem: "Numbers above 0, with commas between them." };
}

/** @param {Field} spec @param {string} text @param {Unit} unit @returns {{value: number}|{problem: string}} */
function readNumber(spec, text, unit) {
  const own = spec.type === "length" ? unit : undefined;
  const words = (/** @type {number} */ v) => `${format(v / inUnits(spec), own ?? "mm")} ${unitWord(spec, unit)}`.trim();
  try {
    const value = parseQuantity(text, /** @type {import("../model/quantity.js").Kind} */ (spec.type), own ?? spec.unit);
    if (spec.whole && !Number.isInteger(value)) return { problem: "A whole number belongs here." };
    if (spec.above !== undefined && value <= spec.above)
      return { problem: `It must be more than ${words(spec.above)}.` };
    if (spec.least !== undefined && value < spec.least) return { problem: `It must be at least ${words(spec.least)}.` };
    if (spec.most !== undefined && value > spec.most) return { problem: `It must be at most ${words(spec.most)}.` };
    if (own && Math.abs(value) > FARTHEST) return { problem: "Nothing on a case floor is farther away than 5 m." };
    return { value };
  } catch (error) {
    if (error instanceof QuantityError) return { problem: error.message };
    throw error;
  }
}

/** Buttons whose work has not ended yet, by their name that outlives a redraw, or else by what they do. @type {Set<unknown>} */
const atWork = new Set();

/** Does it, but not again while a first time is still at work: that would make two of what one was asked for. @param {unknown} key @param {() => unknown} act */
export function once(key, act) {
  if (atWork.has(key)) return;
  const done = act();
  if (!(done instanceof Promise)) return;
  atWork.add(key);
  void done.finally(() => atWork.delete(key));
}

/** A button with words. @param {string} words @param {() => unknown} act @param {import("../types.js").Props} [more] */
export const button = (words, act, more = {}) => h("button", { type: "button", onclick: () => once(more["data-keep"] ?? act, act), ...more }, words);

/** Does what was typed, or says what is wrong with it. @param {Pick<import("./itempanel.js").Parts, "actions">} parts @param {() => void} act */
export function tried({ actions }, act) {
  const fault = faultOf(act);
  if (fault) actions.say(fault);
}
