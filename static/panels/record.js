/**
 * A part of the document with every key that the format gives it: scalars as fields, small lists as tables, parts within
 * it as sections. Made from the format, so that a new key has its control by itself.
 *
 * @typedef {import("../types.js").Path} Path
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Outline} Outline
 * @typedef {import("./fields.js").Field} Field
 * @typedef {import("./fields.js").Model} Model
 * @typedef {{whole: unknown, document: PlateDocument, unit: import("../types.js").Unit, keep: string, id?: string,
 *   memory: import("../types.js").Memory, units?: Record<string, string>,
 *   change: (path: Path, value: unknown, what: string) => void}} Host
 *   whole: what paths begin at; id: of the item it is; keep: a name that outlives a redraw, before every field's own;
 *   memory: what outlives a redraw; units: shown and typed in, by kind of quantity;
 *   change: puts a value at a path, `undefined` takes it away
 */

import { h } from "../dom.js";
import { DEFAULTS, FIELDS } from "../format.js";
import { PARTS, REQUIRED } from "../format_parts.js";
import { choicesFor } from "../model/choices.js";
import { dig } from "../model/edit.js";
import { reshaped } from "../model/shapes.js";
import { columnsOf } from "../model/rows.js";
import { fieldOf } from "./fields.js";
import { button, field, same } from "./form.js";
import { rowsTable } from "./rowtable.js";

/** Keys that the program gives itself: never typed. */
const GIVEN = new Set(["version", "retired_ids"]);
/** What the ids of new rows begin with. @type {Record<string, string>} */
const LETTERS = { DevicePort: "p", BoardHole: "h", Tool: "Y", SurveyPoint: "A", Reading: "M", Surveyed: "L" };

/** A field of a model, with the choices that the document gives it. @param {Host} host @param {string} model @param {string} key @param {Path} [at] @returns {Field} */
export function specOf(host, model, key, at = []) {
  const known = /** @type {Model} */ (model);
  const spec = fieldOf(known, /** @type {never} */ (key), undefined, { at });
  const required = (REQUIRED[model] ?? []).includes(key);
  const chosen = spec.type === "text" ? choicesFor(host.document, model, key, host.id) : null;
  const unit = host.units?.[spec.type];
  return {
    ...spec,
    ...(chosen ? { type: /** @type {const} */ ("choice"), options: chosen } : {}),
    ...(unit ? { unit } : {}),
    ...(required ? { always: true } : {}),
  };
}

/** One scalar key. @param {Host} host @param {string} model @param {string} key @param {Path} [at] @param {Partial<Field>} [more] */
export function recordField(host, model, key, at = [], more = {}) {
  const spec = { ...specOf(host, model, key, at), ...more };
  const given = dig(host.whole, spec.path);
  const none = given === null && spec.optional && spec.usual !== undefined;
  return field(spec, none ? null : (given ?? spec.usual ?? null), {
    unit: host.unit,
    keep: `${host.keep}-${spec.path.join("-")}`,
    given: given !== undefined && given !== null,
    change: (next) => {
      const usual = same(next, spec.usual) && !spec.always;
      host.change(spec.path, next === null || next === "" || usual ? undefined : next, spec.label);
    },
  });
}

/**
 * All of a model.
 * @param {Host} host @param {string} model @param {Path} [at] @param {{skip?: string[], only?: string[]}} [options]
 *   skip: keys that are asked for elsewhere; only: these alone
 * @returns {import("../types.js").Child[]}
 */
export function record(host, model, at = [], { skip = [], only } = {}) {
  const wanted = (/** @type {string} */ key) => !skip.includes(key) && !GIVEN.has(key) && (!only || only.includes(key));
  const scalars = columnsOf(model).filter(wanted);
  const parts = Object.keys(PARTS[model] ?? {}).filter(wanted);
  return [
    scalars.length ? h("div.fields", {}, scalars.map((key) => recordField(host, model, key, at))) : null,
    parts.map((key) => heldPart(host, model, key, at)),
  ];
}

/** A key that holds parts with keys of their own. @param {Host} host @param {string} model @param {string} key @param {Path} at @returns {import("../types.js").Child} */
export function heldPart(host, model, key, at) {
  const { model: inner, held, label, help } = PARTS[model][key];
  const path = [...at, key];
  const value = dig(host.whole, path);
  switch (held) {
    case "one":
      return section(label, record(host, inner, path));
    case "maybe":
      // What needs to be told what it is about is begun where that is chosen, and only changed here.
      if ((REQUIRED[inner] ?? []).length && (value === undefined || value === null)) return null;
      return perhaps(host, label, path, value, () => record(host, inner, path), {});
    case "outline":
      return section(label, outline(host, path, /** @type {Outline|undefined} */ (value), model === "Device"));
    case "maybe-outline":
      return perhaps(
        host,
        label,
        path,
        value,
        () => outline(host, path, /** @type {Outline|undefined} */ (value), model === "Device"),
        { shape: "rectangle", x_mm: 0, y_mm: 0, width_mm: 60, depth_mm: 60 },
      );
    case "many":
      return many(host, inner, path, label, help);
    case "lists":
      return lists(host, path, label, help);
    default:
      return null; // limits have a list of their own, by rule
  }
}

/** A group and no region: a card would have a dozen landmarks, some of one name. @param {string} title @param {...import("../types.js").Child} children */
const section = (title, ...children) => h("section.sub", { role: "group", "aria-label": title }, h("h4", {}, title), ...children);

/** A part that may be missing. @param {Host} host @param {string} title @param {Path} path @param {unknown} value @param {() => import("../types.js").Child} content @param {object} first */
function perhaps(host, title, path, value, content, first) {
  const keep = { "data-keep": `${host.keep}-${path.join("-")}-has` };
  const words = title.toLowerCase();
  if (value === undefined || value === null)
    return section(title, button(`Add the ${words}`, () => host.change(path, first, `Add the ${words}`), keep));
  return section(
    title,
    content(),
    button(`Remove the ${words}`, () => host.change(path, undefined, `Remove the ${words}`), {
      ...keep,
      class: "quiet-button",
    }),
  );
}

/** The rows of a list, or what a document without one has of itself. @param {Host} host @param {string} model of the whole @param {Path} path */
const rowsAt = (host, model, path) => {
  const usual = /** @type {Record<string, Record<string, unknown>>} */ (DEFAULTS)[model]?.[String(path.at(-1))];
  return /** @type {Record<string, unknown>[]} */ (dig(host.whole, path) ?? usual ?? []);
};

/** @param {Host} host @param {string} model @param {Path} path @param {string} title @param {string} help @returns {import("../types.js").Child} */
function many(host, model, path, title, help) {
  const owner = Object.keys(PARTS).find((name) => PARTS[name][String(path.at(-1))]?.model === model) ?? "";
  const rows = rowsAt(host, owner, path);
  if (!columnsOf(model).length)
    return [
      h("h4", {}, `${title} (${rows.length})`),
      rows.map((_, i) =>
        section(
          `${title}, ${i + 1}`,
          Object.keys(PARTS[model]).map((key) => heldPart(host, model, key, [...path, i])),
          button(`Remove ${title.toLowerCase()} ${i + 1}`, () =>
            host.change(path, rows.toSpliced(i, 1), `Remove ${title.toLowerCase()} ${i + 1}`),
          ),
        ),
      ),
    ];
  return table(host, model, path, { title, help, rows });
}

/**
 * A list as a table.
 * @param {Host} host @param {string} model @param {Path} path
 * @param {{title: string, help?: string, rows?: Record<string, unknown>[], columns?: string[], typed?: (rows: Record<string, unknown>[]) => void}} options
 */
export function table(host, model, path, { title, help = "", rows, columns, typed }) {
  const found = rows ?? rowsAt(host, "", path);
  return rowsTable(
    {
      host,
      model,
      at: path,
      title,
      letter: LETTERS[model] ?? "r",
      columns: (columns ?? columnsOf(model)).map((key) => specOf(host, model, key)),
      rows: found,
      typed,
    },
    { help },
  );
}

/** Lists of ids, one a line. @param {Host} host @param {Path} path @param {string} title @param {string} help */
function lists(host, path, title, help) {
  const rows = /** @type {string[][]} */ (dig(host.whole, path) ?? []);
  /** @param {number} i @param {string[]} value */
  const line = (i, value) =>
    field(
      {
        label: i < rows.length ? `${title}, line ${i + 1}` : `${title}, new line`,
        type: "ids",
        help: help || "Ids with commas between them.",
      },
      value,
      {
        unit: host.unit,
        keep: `${host.keep}-${path.join("-")}-${i}`,
        change: (next) => {
          const ids = /** @type {string[]} */ (next);
          const after = ids.length ? rows.toSpliced(i, 1, ids) : rows.toSpliced(i, 1);
          host.change(path, after.length ? after : undefined, title);
        },
      },
    );
  return section(title, h("div.fields", {}, rows.map((ids, i) => line(i, ids)), line(rows.length, [])));
}

const SHAPES = [
  ["rectangle", "Rectangle"],
  ["circle", "Circle"],
  ["slot", "Slot"],
  ["polygon", "Polygon"],
];
/** @type {Record<string, Model>} */
const SHAPE_MODELS = { rectangle: "Rectangle", circle: "Circle", slot: "Slot", polygon: "Polygon" };

/** What the numbers of an outline are called in a device's own axes. @type {Record<string, string>} */
const OWN_AXES = { x_mm: "Centre along u", y_mm: "Centre along v", width_mm: "Size along u", depth_mm: "Size along v" };

/** An outline: its shape, which can be changed, and the numbers of that shape. @param {Host} host @param {Path} path @param {Outline|undefined} value @param {boolean} [ownAxes] it lies in a device's axes, not in the floor's */
export function outline(host, path, value, ownAxes = false) {
  if (!value) return null;
  const model = SHAPE_MODELS[value.shape];
  return [
    h(
      "div.fields",
      {},
      field({ label: "Shape", type: "choice", options: SHAPES, help: "The size stays as near as the shape allows." }, value.shape, {
        unit: host.unit,
        keep: `${host.keep}-${path.join("-")}-shape`,
        change: (next) =>
          host.change(path, reshaped(value, /** @type {Outline["shape"]} */ (next)), "Shape"),
      }),
      Object.keys(FIELDS[model])
        .filter((key) => key !== "shape")
        .map((key) => recordField(host, model, key, path, ownAxes && OWN_AXES[key] ? { label: OWN_AXES[key] } : {})),
    ),
    value.shape === "polygon"
      ? table(host, "Vertex", [...path, "vertices"], { title: "Corners of the outline", rows: value.vertices.map((vertex) => ({ ...vertex })) })
      : null,
  ];
}
