/** The survey's readings: a row for each, and one more to type the next into. */

import { focusOn, h } from "../dom.js";
import { DEFAULTS } from "../format.js";
import { button } from "../panels/form.js";
import { QuantityError, format } from "../model/quantity.js";
import {
  READING_KINDS,
  addReading,
  between,
  changeReading,
  kindOf,
  readingFault,
  readingValue,
  removeReading,
  surveyOf,
} from "./edits.js";
import { chosen, typed } from "./typed.js";

/**
 * @typedef {import("../format_types.js").Reading} Reading
 * @typedef {import("../types.js").SurveyedReading} Known  what the survey makes of a reading
 * @typedef {(values: Partial<Reading>, label?: string) => void} Change
 */

/** @type {[string, string][]} */
const UNITS = [
  ["mm", "mm"],
  ["cm", "cm"],
  ["in", "in"],
];

/** @param {import("../steps/parts.js").Context} context */
export function readings(context) {
  const { document, answer } = context.store.get();
  const survey = surveyOf(document);
  if (survey.points.length < 1) return h("p.quiet", {}, "Name two points first, then read the distance between them.");
  const answers = new Map((answer?.survey?.readings ?? []).map((r) => [r.id, r]));
  return [
    survey.readings.length > 0 &&
      h(
        "table.survey-readings",
        {},
        h("caption.unseen", {}, "Readings"),
        h(
          "thead",
          {},
          h(
            "tr",
            {},
            h("th", { scope: "col" }, "Reading"),
            h("th", { scope: "col" }, "Read"),
            h(
              "th",
              { scope: "col" },
              h(
                "abbr",
                {
                  title:
                    "Residual in mm: what the others make it, less what was read. Beneath it the standardised residual: beyond 3.29 a reading is suspect.",
                },
                "Residual",
              ),
            ),
            h("th", { scope: "col" }, h("span.unseen", {}, "More")),
          ),
        ),
        survey.readings.map((reading) => row(context, reading, answers.get(reading.id))),
      ),
    entry(context),
  ];
}

/** @param {import("../steps/parts.js").Context} context @param {Reading} reading @param {Known|undefined} answer */
function row(context, reading, answer) {
  const { store, actions, local } = context;
  const { document } = store.get();
  const id = reading.id;
  const unit = reading.unit ?? DEFAULTS.Reading.unit;
  const suspect = Boolean(answer?.suspect) && !reading.set_aside;
  const open = local.openReading === id;
  const change = (/** @type {Partial<Reading>} */ values, label = `Change reading ${id}`) =>
    actions.commit(changeReading(document, id, values), label);
  const sign = reading.set_aside
    ? h("abbr.sign.excluded", { title: "Excluded: kept, not used" }, "X")
    : suspect
      ? h("abbr.sign.suspect", { title: "Suspect: it does not agree with the others" }, "S")
      : null;
  return h(
    "tbody",
    { class: suspect ? "suspect" : reading.set_aside ? "excluded" : null, dataset: { reading: id } },
    h(
      "tr",
      {},
      h("th", { scope: "row" }, h("span.reading-id", {}, sign, id), h("span.between", {}, between(reading))),
      h(
        "td",
        {},
        h(
          "span.read-entry",
          {},
          typed(context, {
            keep: `value-${id}`,
            label: `Value of ${id}`,
            value: format(reading.value, "mm", 4),
            take: (text) => change(readingValue(text, unit)),
          }),
          h("span.unit", { "aria-hidden": "true" }, unit),
        ),
      ),
      h("td.residual", {}, residual(reading, answer)),
      h(
        "td",
        {},
        button(
          open ? "−" : "…",
          () => {
            local.openReading = open ? null : id;
            context.again();
          },
          {
            class: "small",
            "aria-expanded": String(open),
            "aria-label": `More about ${id}`,
            "data-keep": `more-${id}`,
          },
        ),
      ),
    ),
    suspect && answer && h("tr.remedies", {}, h("td", { colspan: 4 }, remedies(reading, answer, change))),
    open && h("tr.more", {}, h("td", { colspan: 4 }, more(context, reading, change))),
  );
}

/** @param {Reading} reading @param {Known|undefined} answer */
function residual(reading, answer) {
  if (reading.set_aside) return "excluded";
  if (!answer || answer.residual_mm === null) return "";
  const sign = answer.residual_mm > 0 ? "+" : "";
  return [
    h("span", {}, `${sign}${answer.residual_mm.toFixed(2).replace("-", "−")}`),
    h(
      "span.standardised",
      {},
      answer.standardised_residual === null
        ? "unchecked"
        : `${Math.abs(answer.standardised_residual).toFixed(1)} σ off`,
    ),
  ];
}

/** What a suspect reading probably is, and what can be done. @param {Reading} reading @param {Known} answer @param {Change} change */
function remedies(reading, answer, change) {
  return [
    h(
      "p",
      {},
      answer.used === false
        ? `${reading.id} does not agree: the others make it ${(answer.adjusted_mm ?? 0).toFixed(1)} mm. It is left out until it is corrected.`
        : `${reading.id} is one of several that check only each other, and one of them is wrong.`,
    ),
    h(
      "div.actions-row",
      {},
      answer.probably.map((p, i) =>
        button(
          `Use ${format(p.value, "mm", 2)} ${p.unit}`,
          () => change({ value: p.value, unit: p.unit }, `Correct reading ${reading.id}`),
          { class: i ? null : "do", title: p.why, "data-keep": `use-${reading.id}-${i}` },
        ),
      ),
      button("Exclude", () => change({ set_aside: true }, `Exclude ${reading.id}`), {
        "data-keep": `exclude-${reading.id}`,
      }),
    ),
    answer.probably.length > 0 &&
      h("p.quiet", {}, answer.probably.map((p) => `${format(p.value, "mm", 2)} ${p.unit}: ${p.why}`).join("; ")),
  ];
}

/** @param {import("../steps/parts.js").Context} context @param {Reading} reading @param {Change} change */
function more(context, reading, change) {
  const { store, actions } = context;
  const { document } = store.get();
  const id = reading.id;
  const points = choicesOf(document);
  const shape = kindOf(reading);
  const set = (/** @type {Partial<Reading>} */ values) => {
    const fault = readingFault({ ...reading, ...values });
    if (fault) actions.say(fault);
    else change(values);
    if (fault) context.again();
  };
  const pick = (/** @type {"points"|"wall"} */ key, /** @type {number} */ at, /** @type {string} */ words) =>
    chosen({
      keep: `${key}-${at}-${id}`,
      label: `${words} of ${id}`,
      value: reading[key]?.[at] ?? "",
      options: points,
      change: (value) => set({ [key]: Object.assign([...(reading[key] ?? [])], { [at]: value }) }),
    });
  return [
    h(
      "div.reading-more",
      {},
      pick("points", 0, "Point"),
      shape.points === 2 && pick("points", 1, "Second point"),
      shape.wall && [h("span", {}, "wall"), pick("wall", 0, "Wall from"), pick("wall", 1, "Wall to")],
      chosen({
        keep: `unit-${id}`,
        label: `Unit of ${id}`,
        value: reading.unit ?? DEFAULTS.Reading.unit,
        options: UNITS,
        change: (unit) => change({ unit: /** @type {Reading["unit"]} */ (unit) }),
      }),
      chosen({
        keep: `tool-${id}`,
        label: `Tool of ${id}`,
        value: reading.tool ?? DEFAULTS.Reading.tool,
        options: toolChoices(document),
        change: (tool) => change({ tool }),
      }),
    ),
    h(
      "label.check",
      {},
      h("input", {
        type: "checkbox",
        checked: Boolean(reading.set_aside),
        "data-keep": `exclude-check-${id}`,
        onchange: (event) =>
          change(
            { set_aside: event.currentTarget.checked || undefined },
            event.currentTarget.checked ? `Exclude ${id}` : `Include ${id} again`,
          ),
      }),
      "Exclude: keep it, but do not use it",
    ),
    h(
      "div.actions-row",
      {},
      button("Delete reading", () => actions.commit(removeReading(document, id), `Delete reading ${id}`), {
        class: "careful",
        "data-keep": `delete-${id}`,
      }),
    ),
  ];
}

/** @param {import("../types.js").PlateDocument} document @returns {[string, string][]} */
const choicesOf = (document) => surveyOf(document).points.map((p) => [p.id, p.name ? `${p.id} (${p.name})` : p.id]);

/** @param {import("../types.js").PlateDocument} document @returns {[string, string][]} */
const toolChoices = (document) =>
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

/** The row typed, as a reading; or what is wrong with it. @param {import("../steps/parts.js").Context} context @param {any} now the row */
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

/** The row to type into. @param {import("../steps/parts.js").Context} context */
function entry(context) {
  // Long, because it is one form: eight fields after each other.
  const { store, again } = context;
  const { document } = store.get();
  const now = freshEntry(context);
  const points = choicesOf(document);
  const known = new Set(points.map(([id]) => id));
  for (const key of ["points", "wall"])
    now[key] = now[key].map((/** @type {string} */ id) => (known.has(id) ? id : ""));
  if (!surveyOf(document).tools.some((t) => t.id === now.tool))
    now.tool = surveyOf(document).tools[0]?.id ?? DEFAULTS.Reading.tool;
  const shape = kindOf(now);
  const take = () => takeEntry(context, now);
  const pick = (/** @type {"points"|"wall"} */ key, /** @type {number} */ at, /** @type {string} */ label) =>
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
  const value = h("input", {
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
  const row = h(
    "fieldset.survey-entry",
    {},
    h("legend", {}, "Next reading"),
    h(
      "label.entry-kind",
      {},
      h("span", {}, "Kind"),
      chosen({
        keep: "entry-kind",
        label: "Kind of reading",
        value: now.kind,
        options: Object.entries(READING_KINDS).map(([key, k]) => /** @type {[string, string]} */ ([key, k.title])),
        change: (kind) => {
          now.kind = kind;
          now.fault = "";
          again();
        },
      }),
    ),
    pick("points", 0, shape.points === 2 ? "From" : "Point"),
    shape.points === 2 && pick("points", 1, "To"),
    shape.wall && [pick("wall", 0, "Wall from"), pick("wall", 1, "Wall to")],
    h(
      "label.entry-tool",
      {},
      h("span", {}, "Tool"),
      chosen({
        keep: "entry-tool",
        label: "Tool",
        value: now.tool,
        options: toolChoices(document),
        change: (tool) => {
          now.tool = tool;
        },
      }),
    ),
    h("label.entry-value", {}, h("span", {}, "Reads"), value),
    h(
      "label.entry-unit",
      {},
      h("span", {}, "Unit"),
      chosen({
        keep: "entry-unit",
        label: "Unit",
        value: now.unit,
        options: UNITS,
        change: (unit) => {
          now.unit = unit;
        },
      }),
    ),
    button("Add", take, { "data-keep": "entry-add", "aria-label": "Add reading", class: "do" }),
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
