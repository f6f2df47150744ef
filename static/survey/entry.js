/** The form that the next reading is typed into. */

import { focusOn, h } from "../dom.js";
import { DEFAULTS } from "../format.js";
import { TOOLS } from "../canvas/tools.js";
import { button } from "../panels/form.js";
import { QuantityError, format } from "../model/quantity.js";
import { READING_KINDS, addReading, kindOf, readingFault, readingValue, readyToDraw, surveyOf } from "./edits.js";
import { chosen } from "./typed.js";

/**
 * @typedef {import("../steps/parts.js").Context} Context
 * @typedef {ReturnType<typeof freshEntry>} Entry
 */

/** @type {[string, string][]} */
export const UNITS = [
  ["mm", "mm"],
  ["cm", "cm"],
  ["in", "in"],
];

/** @param {import("../types.js").PlateDocument} document @returns {[string, string][]} */
export const choicesOf = (document) =>
  surveyOf(document).points.map((p) => [p.id, p.name ? `${p.id} (${p.name})` : p.id]);

/** @param {import("../types.js").PlateDocument} document @returns {[string, string][]} */
export const toolChoices = (document) =>
  surveyOf(document).tools.map((t) => [t.id, `${t.name || t.id} ±${format(t.spread_mm, "mm", 3)}`]);

/** What a new row starts from. @param {import("../steps/parts.js").Context} context */
export function freshEntry({ local, store }) {
  local.entry ??= {
    kind: DEFAULTS.Reading.kind,
    points: ["", ""],
    wall: ["", ""],
    unit: store.get().unit,
    tool: DEFAULTS.Reading.tool,
    value: "",
    fault: "",
  };
  return local.entry;
}

/** Puts the caret where the next reading begins. @param {string} keep */
export const focusSoon = (keep) =>
  requestAnimationFrame(() => requestAnimationFrame(() => focusOn(`[data-keep="${keep}"]`)));

/** The row typed, as a reading; or what is wrong with it. @param {import("../steps/parts.js").Context} context @param {Entry} now the row */
function takeEntry({ store, actions, again }, now) {
  now.fault = readingFault(now);
  let read = null;
  if (!now.fault) {
    try {
      read = readingValue(now.value, now.unit);
    } catch (error) {
      if (!(error instanceof QuantityError)) throw error;
      now.fault = error.message;
    }
  }
  if (!read) {
    again();
    return;
  }
  const { kind, tool } = now;
  const made = addReading(store.get().document, {
    kind,
    points: [...now.points],
    wall: [...now.wall],
    ...read,
    tool,
  });
  now.value = "";
  actions.commit(made.document, `Read ${made.id}`);
  // The next row is of the same kind: only what differs is typed.
  focusSoon("entry-points-0");
}

/** Keeps the form to points and tools that there still are, and takes up two points that were clicked on the plan. @param {Context} context @param {Entry} now @param {Set<string>} known */
function brought({ store }, now, known) {
  const { document, reading } = store.get();
  for (const key of ["points", "wall"])
    now[key] = now[key].map((/** @type {string} */ id) => (known.has(id) ? id : ""));
  const { tools } = surveyOf(document);
  if (!tools.some((t) => t.id === now.tool)) now.tool = tools[0]?.id ?? DEFAULTS.Reading.tool;
  if (!reading || reading === now.taken) return;
  Object.assign(now, { kind: "distance", points: [...reading], taken: reading, fault: "" });
  focusSoon("entry-value");
}

/** The form. @param {Context} context */
export function entry(context) {
  const { store } = context;
  const { document } = store.get();
  const now = freshEntry(context);
  const points = choicesOf(document);
  brought(context, now, new Set(points.map(([id]) => id)));
  const shape = kindOf(now);
  // Once outlines can be drawn from the readings, that is the step's main action.
  const ready = readyToDraw(document, store.get().answer);
  const take = () => {
    takeEntry(context, now);
    // What is typed before the form is drawn again belongs to the next reading.
    const value = row.querySelector('[data-keep="entry-value"]');
    if (value instanceof HTMLInputElement && !now.value) value.value = "";
  };
  const choose = (/** @type {"points"|"wall"} */ key, /** @type {number} */ at, /** @type {string} */ label) =>
    pointField(now, points, key, at, label);
  const row = h(
    "fieldset.survey-entry",
    {},
    h("legend", {}, "Next reading"),
    kindField(context, now),
    choose("points", 0, shape.points === 2 ? "First point" : "Point"),
    shape.points === 2 && choose("points", 1, "Second point"),
    shape.wall && [choose("wall", 0, "Wall from"), choose("wall", 1, "Wall to")],
    named("entry-tool", "Tool", "Tool", now, "tool", toolChoices(document)),
    h("label.entry-value", {}, h("span", {}, "Reads"), valueField(now)),
    named("entry-unit", "Unit", "Unit", now, "unit", UNITS),
    button("Add", take, { "data-keep": "entry-add", "aria-label": "Add reading", class: ready ? "" : "do" }),
    points.length > 1 && onPlan(context),
    h("p.quiet", {}, shape.help),
    h("p.problem", { id: "entry-fault", role: "alert" }, now.fault),
  );
  row.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
    if (event.key !== "Enter" || event.target instanceof HTMLButtonElement) return;
    event.preventDefault();
    take();
  });
  return row;
}

/** The two points, clicked on the plan. @param {Context} context */
function onPlan({ store, actions }) {
  const on = store.get().tool?.name === "reading";
  return button("Click the two points on the plan", () => actions.tool(on ? null : TOOLS.reading), {
    "aria-pressed": String(on),
    "data-keep": "entry-on-plan",
    class: "entry-on-plan",
  });
}

/** @param {Context} context @param {Entry} now */
function kindField({ again }, now) {
  return h(
    "label.entry-kind",
    {},
    h("span", {}, "Kind"),
    chosen({
      keep: "entry-kind",
      label: "Kind of reading",
      value: now.kind,
      options: Object.entries(READING_KINDS).map(([key, k]) => /** @type {[string, string]} */ ([key, k.title])),
      change: (kind) => {
        Object.assign(now, { kind, fault: "" });
        again();
      },
    }),
  );
}

/** @param {Entry} now @param {[string, string][]} points @param {"points"|"wall"} key @param {number} at @param {string} label */
const pointField = (now, points, key, at, label) =>
  h(
    "label",
    {},
    h("span", {}, label),
    chosen({
      keep: `entry-${key}-${at}`,
      label,
      value: now[key][at],
      empty: "–",
      options: points,
      change: (value) => {
        now[key][at] = value;
        now.fault = "";
      },
    }),
  );

/** A choice with its words before it. @param {string} keep @param {string} words @param {string} label @param {Record<"tool"|"unit", string>} now @param {"tool"|"unit"} key @param {[string, string][]} options */
export const named = (keep, words, label, now, key, options) =>
  h(
    `label.${keep}`,
    {},
    h("span", {}, words),
    chosen({
      keep,
      label,
      value: now[key],
      options,
      change: (value) => {
        now[key] = value;
      },
    }),
  );

/** @param {Entry} now */
const valueField = (now) =>
  h("input", {
    type: "text",
    autocomplete: "off",
    spellcheck: "false",
    "aria-label": "Value read",
    "data-keep": "entry-value",
    value: now.value,
    "aria-invalid": now.fault ? "true" : null,
    "aria-describedby": "entry-fault",
    oninput: (event) => {
      now.value = event.currentTarget.value;
    },
  });
