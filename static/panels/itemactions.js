/** What can be done with the selection: moved by words, copied, repeated in a row, mirrored, deleted. */

import { h } from "../dom.js";
import * as arrange from "../model/arrange.js";
import { outlineCentre } from "../model/document.js";
import { remove } from "../model/edit.js";
import { QuantityError, faultOf, format, parseMove, parseQuantity } from "../model/quantity.js";
import { button, tried } from "./form.js";
import { repeatForm } from "./repeatform.js";

/**
 * @typedef {import("./itempanel.js").Parts} Parts
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 */

/** A move in words. @param {Parts} parts */
export function moveBy({ store, actions }) {
  const problem = h("p.problem", { hidden: true, id: "move-problem" });
  const input = h("input", {
    type: "text",
    id: "move-by",
    placeholder: "10 left, 5 rear",
    autocomplete: "off",
    "data-keep": "move-by",
    "aria-describedby": "move-problem",
    onkeydown: (event) => {
      if (event.key === "Enter") go();
    },
  });
  const go = () => {
    problem.textContent = faultOf(() => {
      const { dx, dy } = parseMove(input.value, store.get().unit);
      input.value = "";
      actions.nudge(dx, dy);
    });
    problem.hidden = !problem.textContent;
  };
  return h(
    "div.move-by",
    {},
    h("label", { for: "move-by" }, "Move by"),
    h("span.entry", {}, input),
    button("Move", go, { "data-keep": "move-go" }),
    problem,
  );
}

/** @param {Parts} parts @param {import("../types.js").Kind|""} kind @param {string[]} ids */
export function itemActions(parts, kind, ids) {
  const { actions } = parts;
  const group = kind === "group";
  return h(
    "div.actions-row",
    { role: "group", "aria-label": "Actions" },
    button(ids.length > 1 ? "Copy all" : "Copy", () => copyOf(parts, ids), { "data-keep": "copy" }),
    group ? null : popover("Repeat in a row…", rowForm(parts, ids)),
    group ? null : popover("Grid or ring…", repeatForm(parts, ids)),
    group ? null : popover("Mirror…", mirrorForm(parts, ids)),
    group ? button("Ungroup", () => actions.edit(`Ungroup ${ids[0]}`, (d) => remove(d, ids), { selection: [] })) : null,
    // A group alone goes by “Ungroup”: what it holds stays.
    group ? null : button("Delete", () => actions.remove(), { "data-keep": "delete", class: "careful" }),
  );
}

/** @param {Pick<Parts, "store"|"actions">} parts @param {string[]} ids */
export const copyOf = (parts, ids) =>
  place(parts, arrange.copy(parts.store.get().document, ids, 20, -20), `Copy ${ids.join(", ")}`);

/** @param {string} words @param {import("../types.js").Child} content */
const popover = (words, content) =>
  h("details.popover", {}, h("summary", { "data-keep": words }, words), h("div.popover-body", {}, content));

/** @param {Pick<Parts, "actions">} parts @param {{document: PlateDocument, ids: string[]}} made @param {string} label @param {string} [about] */
function place({ actions }, made, label, about = "") {
  actions.commit(made.document, label, { selection: made.ids, spot: null });
  actions.say([`${made.ids.join(", ")} added.`, about].filter(Boolean).join(" "));
}

/** @param {Parts} parts @param {string[]} ids */
function rowForm(parts, ids) {
  const { store } = parts;
  const { unit } = store.get();
  const count = h("input", { type: "text", value: "3", "aria-label": "Count" });
  const dx = h("input", { type: "text", value: format(20.32, unit), "aria-label": "Spacing to the right" });
  const dy = h("input", { type: "text", value: "0", "aria-label": "Spacing to the rear" });
  const make = () => {
    const n = Math.round(parseQuantity(count.value, "number"));
    if (n < 2 || n > 200) throw new QuantityError("A row has 2 to 200 items.");
    const [x, y] = [parseQuantity(dx.value, "length", unit), parseQuantity(dy.value, "length", unit)];
    if (!x && !y) throw new QuantityError("They would all stand in the same place.");
    place(parts, arrange.row(store.get().document, ids, n, x, y), `Row of ${ids.join(", ")}`);
  };
  return [
    h("label", {}, "Count ", count),
    h("label", {}, "Spacing to the right ", dx),
    h("label", {}, "Spacing to the rear ", dy),
    button("Make the row", () => tried(parts, make)),
  ];
}

/** @param {Parts} parts @param {string[]} ids */
function mirrorForm(parts, ids) {
  const { store, ask } = parts;
  const { unit, document } = store.get();
  const middle = outlineCentre(document.plate.outline);
  const axis = h(
    "select",
    { "aria-label": "Direction" },
    h("option", { value: "x" }, "left and right"),
    h("option", { value: "y" }, "front and rear"),
  );
  const at = h("input", { type: "text", value: format(middle[0], unit), "aria-label": "About the line at" });
  axis.addEventListener("change", () => {
    at.value = format(middle[axis.value === "x" ? 0 : 1], unit);
  });
  const make = () => {
    const line = {
      axis: axis.value === "x" ? /** @type {const} */ ("x") : /** @type {const} */ ("y"),
      at: parseQuantity(at.value, "length", unit),
    };
    return ask("The mirror image", async () => {
      const made = await mirrored(parts, ids, line);
      const about = arrange.aboutMirrored(document, ids, made.pairs);
      if (made.ids.length) place(parts, made, `Mirror ${ids.join(", ")}`, about);
      else parts.actions.say(about);
    });
  };
  return [
    h("label", {}, "Swap ", axis),
    h("label", {}, "About the line at ", at),
    button("Make the mirror image", () => tried(parts, make)),
  ];
}

/**
 * Copies mirrored about a line; boards and devices are set so that their true outlines mirror the first ones'.
 * @param {Parts} parts @param {string[]} ids @param {{axis: "x"|"y", at: number}} line
 */
async function mirrored({ api, store }, ids, line) {
  const { document } = store.get();
  const made = arrange.mirror(document, ids, line);
  const hardware = made.pairs.filter(({ kind }) => kind === "board" || kind === "device");
  if (!hardware.length) return made;
  const bodies = async (/** @type {PlateDocument} */ plate, /** @type {string[]} */ of) => {
    const { extents, heights } = await api.measure(plate, of);
    return Object.fromEntries(of.map((id) => [id, { box: extents[id], heights: heights[id] }]));
  };
  const before = await bodies(
    document,
    hardware.map(({ from }) => from),
  );
  const after = await bodies(
    made.document,
    hardware.map(({ to }) => to),
  );
  return { ...made, document: arrange.mirroredOutlines(made.document, hardware, line, before, after) };
}
