/** What an outline can be made from: another shape, a drawing, its own corners. The server works the shapes out. */

import { h } from "../dom.js";
import { everyItem, isWhole, outlineOf } from "../model/document.js";
import { outlineBox } from "../geometry/outline.js";
import { add, outlineMoved } from "../model/edit.js";
import { tidied, withOutline } from "../model/outlines.js";
import { asPolygon } from "../model/polygons.js";
import { QuantityError, format, parseQuantity } from "../model/quantity.js";
import { send } from "../server/api.js";
import { fileChooser } from "./filechooser.js";
import { button } from "./form.js";

/**
 * @typedef {import("./itempanel.js").Parts} Parts
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Outline} Outline
 */

/** @type {[string, string, string][]} what is done, what the button says, what the length is */
const WAYS = [
  ["follow", "Follow it, inside by", "3"],
  ["union", "Add it, grown by", "0"],
  ["minus", "Take it away, grown by", "1"],
  ["common", "Keep what is within it, grown by", "0"],
  ["along", "Lay the selected edge along it, beside by", "0"],
];

/** @param {Parts} parts @param {PlateDocument} document @param {string} id */
export function outlineTools(parts, document, id) {
  const outline = outlineOf(document, id);
  if (!outline) return null;
  return h(
    "section.sub",
    { role: "group", "aria-label": "Outline" },
    h("h4", {}, "Outline"),
    h(
      "div.actions-row",
      {},
      outline.shape === "polygon"
        ? null
        : button(
            "Edit by corners",
            () =>
              parts.actions.edit(`Corners of ${named(id)}`, (d) => withOutline(d, id, asPolygon), { spot: { id, index: 0 } }),
            { "data-keep": "by-corners" },
          ),
      h(
        "details.popover",
        {},
        h("summary", { "data-keep": "outline-from" }, "From another shape…"),
        h("div.popover-body", {}, fromShape(parts, document, id)),
      ),
      h(
        "details.popover",
        {},
        h("summary", { "data-keep": "outline-drawing" }, "From a drawing…"),
        h("div.popover-body", {}, fromDrawing(parts, id)),
      ),
    ),
  );
}

/** What an outline belongs to, in a sentence. @param {string} id */
const named = (id) => (id === "plate" || id === "floor" ? `the ${id}` : id);

/** The same at the start of one. @param {string} id */
const capital = (id) => named(id).replace(/^the/, "The");

/** What an outline can go by. @param {PlateDocument} document @param {string} id @returns {[string, string][]} */
function others(document, id) {
  const wholes = /** @type {[string, string][]} */ ([
    ["floor", "the floor"],
    ["plate", "the plate"],
  ]).filter(([whole]) => isWhole(document, whole));
  const things = everyItem(document)
    .filter(({ kind, item }) => (item.outline && kind !== "device") || kind === "board" || (kind === "device" && item.outline))
    .map(({ item }) => /** @type {[string, string]} */ ([item.id, item.name ? `${item.id} ${item.name}` : item.id]));
  return [...wholes, ...things].filter(([one]) => one !== id);
}

/** @param {Parts} parts @param {PlateDocument} document @param {string} id */
function fromShape({ store, actions, api, ask }, document, id) {
  const { unit } = store.get();
  const other = h("select", { "aria-label": "Other shape" }, others(document, id).map(([value, words]) => h("option", { value }, words)));
  const way = h("select", { "aria-label": "What to do with it" }, WAYS.map(([value, words]) => h("option", { value }, words)));
  const length = h("input", { type: "text", "aria-label": "By how much", value: format(3, unit) });
  way.addEventListener("change", () => {
    const usual = WAYS.find(([value]) => value === way.value)?.[2] ?? "0";
    length.value = format(Number(usual), unit);
  });
  const go = () => {
    const by = lengthOf(actions, length.value, unit);
    if (by === null) return null;
    return ask("The outline", async () => {
      const { document: now, spot } = store.get();
      const edge = spot?.id === id ? spot.index : null;
      if (way.value === "along" && edge === null) {
        actions.say("Select the edge first: click it on the drawing, or its ⌒ in the list of corners.");
        return;
      }
      const made = await api.post("/api/outline", {
        document: now, target: id, do: way.value, other: other.value, distance_mm: by, edge,
      });
      if (store.get().document !== now) return;
      if (!made.changed) {
        actions.say(made.messages.join(" "));
        return;
      }
      actions.commit(withOutline(now, id, () => tidied(made.outline)), `Outline of ${named(id)} by ${named(other.value)}`, { spot: null });
      actions.say([`${capital(id)} has its new outline.`, ...made.messages].join(" "));
    });
  };
  return [h("label", {}, "Shape ", other), h("label", {}, "Do ", way), h("label", {}, `By, ${unit} `, length), button("Make the outline", go)];
}

/** @param {import("../types.js").Actions} actions @param {string} text @param {import("../types.js").Unit} unit */
export function lengthOf(actions, text, unit) {
  try {
    return parseQuantity(text, "length", unit);
  } catch (error) {
    if (!(error instanceof QuantityError)) throw error;
    actions.say(error.message);
    return null;
  }
}

/** The largest closed outline of a DXF or SVG file, set where the old one has its middle. @param {Parts} parts @param {string} id */
function fromDrawing({ store, actions, ask }, id) {
  const unit = h(
    "select",
    { "aria-label": "Unit of the drawing" },
    [["", "as the file says"], ["mm", "mm"], ["cm", "cm"], ["m", "m"], ["in", "in"]].map(([value, words]) => h("option", { value }, words)),
  );
  const inner = h("input", { type: "checkbox" });
  const file = fileChooser({ accept: ".dxf,.svg", "aria-label": "Drawing (DXF or SVG)" });
  const go = () =>
    ask("The drawing", async () => {
      const [chosen] = file.querySelector("input")?.files ?? [];
      if (!chosen) {
        actions.say("Choose a DXF or SVG file first.");
        return;
      }
      const kind = /\.svg$/i.test(chosen.name) ? "svg" : "dxf";
      const { document } = store.get();
      const query = new URLSearchParams({ kind, ...(unit.value ? { unit: unit.value } : {}) });
      const { ok, content } = await send("POST", `/api/floor/import?${query}`, chosen);
      if (!ok) {
        actions.say(content?.error?.message ?? "The server could not read the drawing.");
        return;
      }
      if (store.get().document !== document) return;
      actions.commit(drawnIn(document, id, content, inner.checked), `Outline of ${named(id)} from ${chosen.name}`, { spot: null });
      actions.say([`${capital(id)} has the drawing's outline, with its middle where the old one had it.`, ...content.messages].join(" "));
    });
  return [
    h("div", {}, "File ", file),
    h("label", {}, "Unit ", unit),
    id === "plate" ? h("label.check", {}, inner, " Outlines inside it become cutouts") : null,
    button("Take its outline", go),
  ];
}

/** @param {PlateDocument} document @param {string} id @param {{outline: Outline, inner: Outline[]}} found @param {boolean} cutouts */
function drawnIn(document, id, found, cutouts) {
  const [before, after] = [outlineBox(/** @type {Outline} */ (outlineOf(document, id))), outlineBox(found.outline)];
  const by = /** @type {const} */ ([(before[0] + before[2] - after[0] - after[2]) / 2, (before[1] + before[3] - after[1] - after[3]) / 2]);
  const next = withOutline(document, id, () => tidied(outlineMoved(found.outline, ...by)));
  if (!cutouts) return next;
  return found.inner.reduce((d, outline) => add(d, "cutout", { outline: tidied(outlineMoved(outline, ...by)) }).document, next);
}
