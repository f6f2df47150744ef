/** Copies in a grid or in a ring about a place. */

import { h } from "../dom.js";
import { gridOf, ringOf } from "../model/repeat.js";
import { pivotOf } from "../model/turning.js";
import { QuantityError, format, parseQuantity } from "../model/quantity.js";
import { button, tried } from "./form.js";

/**
 * @typedef {import("./itempanel.js").Parts} Parts
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 */

/** More copies than this are a slip. */
const MOST = 400;

/** @param {string} label @param {string} value */
const entry = (label, value) => h("input", { type: "text", value, "aria-label": label, autocomplete: "off" });

/** @param {HTMLInputElement} input @param {import("../types.js").Unit} unit */
const length = (input, unit) => parseQuantity(input.value, "length", unit);

/** @param {HTMLInputElement} input */
function count(input) {
  const n = Math.round(parseQuantity(input.value, "number"));
  if (n < 1 || n > MOST) throw new QuantityError(`A count is from 1 to ${MOST}.`);
  return n;
}

/** @param {Pick<Parts, "store"|"actions">} parts @param {string[]} ids */
export function repeatForm(parts, ids) {
  const { store } = parts;
  const { unit, document } = store.get();
  const [nx, ny] = [entry("Columns", "3"), entry("Rows", "2")];
  const [dx, dy] = [entry("Spacing of columns", format(20.32, unit)), entry("Spacing of rows", format(20.32, unit))];
  const middle = pivotOf(document, ids) ?? [0, 0];
  const number = entry("Count in the ring", "6");
  const [x, y] = [
    entry("Centre of the ring from the left", format(middle[0] - 40, unit)),
    entry("Centre of the ring from the front", format(middle[1], unit)),
  ];
  const span = entry("Angle of the ring, degrees", "360");
  const grid = () => {
    const [columns, rows] = [count(nx), count(ny)];
    if (columns * rows < 2 || columns * rows > MOST) throw new QuantityError(`A grid has 2 to ${MOST} places.`);
    const [right, rear] = [length(dx, unit), length(dy, unit)];
    if ((columns > 1 && !right) || (rows > 1 && !rear)) throw new QuantityError("They would stand in the same place.");
    done(parts, gridOf(store.get().document, ids, columns, rows, right, rear), `Grid of ${ids.join(", ")}`);
  };
  const ring = () => {
    const n = count(number);
    const degrees = parseQuantity(span.value, "number");
    if (n < 2 || !degrees || Math.abs(degrees) > 360) throw new QuantityError("A ring has 2 or more places within 360°.");
    const made = ringOf(store.get().document, ids, n, [length(x, unit), length(y, unit)], degrees);
    done(parts, made, `Ring of ${ids.join(", ")}`);
  };
  return [
    h("label", {}, "Columns ", nx),
    h("label", {}, "Spacing of columns ", dx),
    h("label", {}, "Rows ", ny),
    h("label", {}, "Spacing of rows ", dy),
    button("Make the grid", () => tried(parts, grid)),
    h("label", {}, "Count in the ring ", number),
    h("label", {}, "Centre from the left ", x),
    h("label", {}, "Centre from the front ", y),
    h("label", {}, "Over degrees ", span),
    button("Make the ring", () => tried(parts, ring)),
  ];
}

/** @param {Pick<Parts, "actions">} parts @param {{document: PlateDocument, ids: string[]}} made @param {string} label */
function done({ actions }, made, label) {
  actions.commit(made.document, label, { selection: made.ids, spot: null });
  actions.say(`${made.ids.length} added: ${made.ids.join(", ")}.`);
}
