/** The survey's readings: a row for each, and one more to type the next into. */

import { h } from "../dom.js";
import { button } from "../panels/form.js";
import { QuantityError, format } from "../model/quantity.js";
import {
  READING_KINDS,
  addReading,
  between,
  changeReading,
  readingFault,
  readingValue,
  removeReading,
  surveyOf,
} from "./edits.js";
import { chosen, typed } from "./typed.js";

/** @type {[string, string][]} */
const UNITS = [
  ["mm", "mm"],
  ["cm", "cm"],
  ["in", "in"],
];

/** @param {import("../steps/parts.js").Context} context */
export function readings(context) {
  const { document, look } = context.store.get();
  const survey = surveyOf(document);
  if (survey.points.length < 1) return h("p.quiet", {}, "Name two points first, then read the distance between them.");
  const answers = new Map((look?.survey?.readings ?? []).map((/** @type {any} */ r) => [r.id, r]));
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
        survey.readings.map((/** @type {any} */ reading) => row(context, reading, answers.get(reading.id))),
      ),
    entry(context),
  ];
}

/** @param {import("../steps/parts.js").Context} context @param {any} reading @param {any} answer */
function row(context, reading, answer) {
  const { store, actions, local } = context;
  const { document } = store.get();
  const id = reading.id;
  const unit = reading.unit ?? "mm";
  const suspect = Boolean(answer?.suspect) && !reading.set_aside;
  const open = local.openReading === id;
  const change = (/** @type {any} */ values, label = `Change reading ${id}`) =>
    actions.commit(changeReading(document, id, values), label);
  const sign = reading.set_aside
    ? h("abbr.sign.aside", { title: "Set aside: kept, not used" }, "A")
    : suspect
      ? h("abbr.sign.suspect", { title: "Suspect: it does not agree with the others" }, "S")
      : null;
  return h(
    "tbody",
    { class: suspect ? "suspect" : reading.set_aside ? "aside" : null, dataset: { reading: id } },
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
    suspect && h("tr.amends", {}, h("td", { colspan: 4 }, mend(reading, answer, change))),
    open && h("tr.more", {}, h("td", { colspan: 4 }, more(context, reading, change))),
  );
}

/** @param {any} reading @param {any} answer */
function residual(reading, answer) {
  if (reading.set_aside) return "aside";
  if (!answer || answer.residual_mm === null) return "";
  const sign = answer.residual_mm > 0 ? "+" : "";
  return [
    h("span", {}, `${sign}${answer.residual_mm.toFixed(2).replace("-", "−")}`),
    h(
      "span.standardised",
      {},
      answer.standardised_residual === null ? "unchecked" : `w ${Math.abs(answer.standardised_residual).toFixed(1)}`,
    ),
  ];
}

/** What a suspect reading probably is, and what can be done. @param {any} reading @param {any} answer @param {(values: any, label?: string) => void} change */
function mend(reading, answer, change) {
  return [
    h(
      "p",
      {},
      answer.used === false
        ? `${reading.id} does not agree: the others make it ${answer.adjusted_mm.toFixed(1)} mm. It is left out until it is mended.`
        : `${reading.id} is one of several that check only each other, and one of them is wrong.`,
    ),
    h(
      "div.doings",
      {},
      (answer.probably ?? []).map((/** @type {any} */ p, /** @type {number} */ i) =>
        button(
          `Use ${format(p.value, "mm", 2)} ${p.unit}`,
          () => change({ value: p.value, unit: p.unit }, `Correct reading ${reading.id}`),
          { class: i ? null : "do", title: p.why, "data-keep": `use-${reading.id}-${i}` },
        ),
      ),
      button("Set aside", () => change({ set_aside: true }, `Set aside ${reading.id}`), {
        "data-keep": `aside-${reading.id}`,
      }),
    ),
    (answer.probably ?? []).length > 0 &&
      h(
        "p.quiet",
        {},
        answer.probably.map((/** @type {any} */ p) => `${format(p.value, "mm", 2)} ${p.unit}: ${p.why}`).join("; "),
      ),
  ];
}

/** @param {import("../steps/parts.js").Context} context @param {any} reading @param {(values: any, label?: string) => void} change */
function more(context, reading, change) {
  const { store, actions } = context;
  const { document } = store.get();
  const id = reading.id;
  const { kind = "distance" } = reading;
  const points = choicesOf(document);
  const shape = READING_KINDS[/** @type {keyof typeof READING_KINDS} */ (kind)];
  const set = (/** @type {any} */ values) => {
    const fault = readingFault({ kind, ...reading, ...values });
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
        value: reading.unit ?? "mm",
        options: UNITS,
        change: (unit) => change({ unit }),
      }),
      chosen({
        keep: `tool-${id}`,
        label: `Tool of ${id}`,
        value: reading.tool ?? "rule",
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
        "data-keep": `aside-check-${id}`,
        onchange: (/** @type {any} */ event) =>
          change(
            { set_aside: event.target.checked || undefined },
            event.target.checked ? `Set aside ${id}` : `Take ${id} in again`,
          ),
      }),
      "Set aside: keep it, but do not use it",
    ),
    h(
      "div.doings",
      {},
      button("Delete reading", () => actions.commit(removeReading(document, id), `Delete reading ${id}`), {
        class: "careful",
        "data-keep": `delete-${id}`,
      }),
    ),
  ];
}

/** @param {any} document @returns {[string, string][]} */
const choicesOf = (document) =>
  surveyOf(document).points.map((/** @type {any} */ p) => [p.id, p.name ? `${p.id} (${p.name})` : p.id]);

/** @param {any} document @returns {[string, string][]} */
const toolChoices = (document) =>
  surveyOf(document).tools.map((/** @type {any} */ t) => [t.id, `${t.name || t.id} ±${format(t.spread_mm, "mm", 3)}`]);

/** What a new row starts from. @param {import("../steps/parts.js").Context} context */
export function freshEntry({ local, store }) {
  local.entry ??= {
    kind: "distance",
    points: ["", ""],
    wall: ["", ""],
    unit: store.get().unit,
    tool: "rule",
    value: "",
    fault: "",
  };
  return local.entry;
}

/** Puts the caret where the next reading begins. @param {string} keep */
export const focusSoon = (keep) =>
  requestAnimationFrame(() =>
    requestAnimationFrame(() => /** @type {any} */ (document.querySelector(`[data-keep="${keep}"]`))?.focus()),
  );

/** The row to type into. @param {import("../steps/parts.js").Context} context */
function entry(context) {
  const { store, actions, again } = context;
  const { document } = store.get();
  const now = freshEntry(context);
  const points = choicesOf(document);
  const known = new Set(points.map(([id]) => id));
  for (const key of ["points", "wall"])
    now[key] = now[key].map((/** @type {string} */ id) => (known.has(id) ? id : ""));
  if (!surveyOf(document).tools.some((/** @type {any} */ t) => t.id === now.tool))
    now.tool = surveyOf(document).tools[0]?.id ?? "rule";
  const shape = READING_KINDS[/** @type {keyof typeof READING_KINDS} */ (now.kind)];
  const take = () => {
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
  };
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
    oninput: (/** @type {any} */ event) => {
      now.value = event.target.value;
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
    if (event.key !== "Enter" || /** @type {any} */ (event.target).tagName === "BUTTON") return;
    event.preventDefault();
    take();
  });
  return row;
}
