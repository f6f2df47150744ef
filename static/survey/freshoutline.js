/** A new outline through the points, with the height or the diameter that it needs. */

import { h } from "../dom.js";
import { DEFAULTS } from "../format.js";
import { itemsOf } from "../model/document.js";
import { QuantityError, faultOf, parseQuantity } from "../model/quantity.js";
import { button } from "../panels/form.js";
import { addOutline, addReading, changeOutline, cornersFault, idsIn, readingValue, surveyOf } from "./edits.js";
import { freshEntry } from "./entry.js";
import { chosen } from "./typed.js";

/**
 * @typedef {import("../steps/parts.js").Context} Context
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../format_types.js").Surveyed} Surveyed
 * @typedef {"floor"|"obstacle"|"opening"} What
 */

/** @type {[What, string][]} */
export const WHAT = [
  ["floor", "Floor"],
  ["obstacle", "Obstacle"],
  ["opening", "Opening"],
];

/**
 * What an outline still needs before it can be drawn, or null.
 * @param {PlateDocument} document @param {Surveyed} outline
 * @returns {{key: "height"|"diameter", keep: string, words: string}|null} keep: the field that takes it
 */
export function lackOf(document, outline) {
  const { readings } = surveyOf(document);
  const what = outline.what ?? DEFAULTS.Surveyed.what;
  const places = outline.centre ? [outline.centre] : (outline.corners ?? []);
  const read = (/** @type {string} */ kind) =>
    readings.some((r) => r.kind === kind && !r.set_aside && places.includes(r.points[0]));
  const keep = (/** @type {string} */ key) => `${key}-${outline.id}`;
  if (outline.centre && !read("diameter"))
    return { key: "diameter", keep: keep("diameter"), words: `${outline.id} is round: type its diameter, as measured.` };
  const drawn = itemsOf(document, "obstacle").some((o) => o.id === outline.id);
  if (what === "obstacle" && !outline.height_mm && !read("height") && !drawn)
    return { key: "height", keep: keep("height"), words: `The obstacle ${outline.id} needs its height: type it, or read one at a corner.` };
  return null;
}

/** The document with a diameter read at a point, by the tool and the unit of the form above. @param {Context} context @param {string} centre @param {string} text @throws {QuantityError} */
export function withDiameter(context, centre, text, document = context.store.get().document) {
  const { tool, unit } = freshEntry(context);
  return addReading(document, { kind: "diameter", points: [centre], ...readingValue(text, unit), tool }).document;
}

/** The form. @param {Context} context */
export function freshOutline(context) {
  const { store, local, again } = context;
  const { document, unit } = store.get();
  const survey = surveyOf(document);
  const hasFloor = survey.outlines.some((o) => o.what === "floor");
  /** @type {Form} */
  const empty = { what: null, round: false, corners: null, centre: "", height: "", diameter: "", fault: "" };
  local.outline ??= empty;
  const now = local.outline;
  const what = now.what ?? (hasFloor ? "obstacle" : "floor");
  const corners = now.corners ?? (what === "floor" ? survey.points.map((p) => p.id).join(" ") : "");
  const read = survey.readings.some((r) => r.kind === "diameter" && r.points[0] === now.centre);
  return h(
    "fieldset.survey-outline",
    {},
    h("legend", {}, "New outline"),
    chosen({
      keep: "outline-what",
      label: "What is outlined",
      value: what,
      options: WHAT,
      change: (value) => {
        now.what = value;
        again();
      },
    }),
    chosen({
      keep: "outline-shape",
      label: "Shape of the outline",
      value: now.round ? "round" : "corners",
      options: [
        ["corners", "by corners"],
        ["round", "round"],
      ],
      change: (value) => {
        now.round = value === "round";
        again();
      },
    }),
    now.round ? centreField(now, survey.points, again) : cornersField(now, corners),
    now.round && !read ? sizeField(now, "diameter", `Diameter, ${unit}`) : null,
    what === "obstacle" ? sizeField(now, "height", `Height, ${unit}`) : null,
    button("Add outline", () => add(context, what, corners, hasFloor), { "data-keep": "add-outline" }),
    h("p.problem", { role: "alert" }, now.fault),
  );
}

/** A new outline as it is typed. @typedef {{what: "floor"|"obstacle"|"opening"|null, round: boolean, corners: string|null, centre: string, height: string, diameter: string, fault: string}} Form */

/** @param {Form} now @param {readonly {id: string}[]} points @param {() => void} again */
const centreField = (now, points, again) =>
  h(
    "label",
    {},
    h("span", {}, "Middle"),
    chosen({
      keep: "outline-centre",
      label: "Centre of the round outline",
      value: now.centre,
      empty: "–",
      options: points.map((p) => [p.id, p.id]),
      change: (value) => {
        now.centre = value;
        again();
      },
    }),
  );

/** @param {Form} now @param {string} corners */
const cornersField = (now, corners) =>
  h(
    "label",
    {},
    h("span", {}, "Points in order"),
    h("input", {
      type: "text",
      "aria-label": "Corners in order",
      "data-keep": "outline-corners",
      autocomplete: "off",
      spellcheck: "false",
      value: corners,
      oninput: (event) => {
        now.corners = event.currentTarget.value;
      },
    }),
  );

/** @param {Form} now @param {"height"|"diameter"} key @param {string} label */
const sizeField = (now, key, label) =>
  h(
    "label",
    {},
    h("span", {}, label),
    h("input", {
      type: "text",
      autocomplete: "off",
      spellcheck: "false",
      "data-keep": `outline-${key}`,
      placeholder: key === "height" ? "or as read" : "",
      value: now[key],
      oninput: (event) => {
        now[key] = event.currentTarget.value;
      },
    }),
  );

/** Takes the form as an outline, or says what is wrong with it. @param {Context} context @param {What} what @param {string} corners as they stood when the form was drawn @param {boolean} hasFloor */
function add(context, what, corners, hasFloor) {
  const { store, actions, local, again } = context;
  const { document, unit } = store.get();
  const now = local.outline;
  const ids = idsIn(now.corners ?? corners);
  now.fault = now.round ? (now.centre ? "" : "Choose the point in its middle.") : cornersFault(document, ids);
  if (what === "floor" && hasFloor) now.fault = "There is a floor outline already; change its corners.";
  let made = { document, id: "" };
  now.fault ||= faultOf(() => {
    made = addOutline(document, { what, ...(now.round ? { centre: now.centre } : { corners: ids }) });
    if (now.round && now.diameter.trim())
      made.document = withDiameter(context, now.centre, now.diameter, made.document);
    if (what === "obstacle" && now.height.trim()) {
      const height = parseQuantity(now.height, "length", unit);
      if (height <= 0) throw new QuantityError("A height is more than 0.");
      made.document = changeOutline(made.document, made.id, { height_mm: height });
    }
  });
  if (now.fault) {
    again();
    return;
  }
  local.outline = null;
  actions.commit(made.document, `Outline ${made.id}`);
}
