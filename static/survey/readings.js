/** The survey's readings: a row for each, and one more to type the next into. */

import { h } from "../dom.js";
import { DEFAULTS } from "../format.js";
import { button } from "../panels/form.js";
import { format } from "../model/quantity.js";
import { choicesOf, entry, focusSoon, toolChoices, UNITS } from "./entry.js";
import { sequence } from "./sequence.js";
import { pasted } from "./table.js";
import { between, changeReading, kindOf, readingFault, readingValue, removeReading, surveyOf } from "./edits.js";
import { chosen, typed } from "./typed.js";

/**
 * @typedef {import("../format_types.js").Reading} Reading
 * @typedef {import("../types.js").SurveyedReading} Known  what the survey makes of a reading
 * @typedef {(values: Partial<Reading>, label?: string) => void} Change
 */

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
        survey.readings.map((reading, i) =>
          row(context, reading, answers.get(reading.id), survey.readings[i + 1]?.id ?? null),
        ),
      ),
    entry(context),
    sequence(context),
    pasted(context),
  ];
}

/** @param {import("../steps/parts.js").Context} context @param {Reading} reading @param {Known|undefined} answer @param {string|null} next the reading after it */
function row(context, reading, answer, next) {
  const { store, actions, local } = context;
  const { document } = store.get();
  const id = reading.id;
  const unit = reading.unit ?? DEFAULTS.Reading.unit;
  const suspect = Boolean(answer?.suspect) && !reading.set_aside;
  const open = local.openReading === id;
  const change = (/** @type {Partial<Reading>} */ values, label = `Change reading ${id}`) =>
    actions.commit(changeReading(document, id, values), label);
  return h(
    "tbody",
    {
      class: answer?.rival && suspect ? "rival" : suspect ? "suspect" : reading.set_aside ? "excluded" : null,
      dataset: { reading: id },
    },
    h(
      "tr",
      {},
      h(
        "th",
        { scope: "row" },
        h("span.reading-id", {}, signOf(reading, answer), id),
        h("span.between", {}, between(reading)),
      ),
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
            // A caliper that types sends digits and Enter: the next field is the next to be read.
            next: next ? `value-${next}` : "entry-value",
          }),
          h("span.unit", { "aria-hidden": "true" }, unit),
        ),
      ),
      h("td.residual", {}, residual(reading, answer)),
      h("td", {}, opener(context, id, open)),
    ),
    suspect &&
      answer &&
      h(
        "tr.remedies",
        {},
        h("td", { colspan: 4 }, remedies(reading, answer, change, store.get().answer?.survey?.rivals)),
      ),
    open && h("tr.more", {}, h("td", { colspan: 4 }, more(context, reading, change))),
  );
}

/** A letter for a reading that is not used, is suspect, or is one of several that may be wrong. @param {Reading} reading @param {Known|undefined} answer */
function signOf(reading, answer) {
  if (reading.set_aside) return h("abbr.sign.excluded", { title: "Excluded: kept, not used" }, "X");
  if (answer?.rival) return h("abbr.sign.rival", { title: "One of several readings, of which one is wrong" }, "?");
  return answer?.suspect ? h("abbr.sign.suspect", { title: "Suspect: it does not agree with the others" }, "S") : null;
}

/** Opens what else there is to a reading. @param {import("../steps/parts.js").Context} context @param {string} id @param {boolean} open */
const opener = ({ local, again }, id, open) =>
  button(
    open ? "−" : "…",
    () => {
      local.openReading = open ? null : id;
      again();
    },
    { class: "small", "aria-expanded": String(open), "aria-label": `More about ${id}`, "data-keep": `more-${id}` },
  );

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

/** What is wrong with a suspect reading, in words. @param {Reading} reading @param {Known} answer @param {import("../types.js").SurveyAnswer["rivals"]} rivals */
function wrong(reading, answer, rivals = []) {
  if (answer.used === false)
    return `${reading.id} does not agree: the others make it ${(answer.adjusted_mm ?? 0).toFixed(1)} mm. It is left out until it is corrected.`;
  const rival = rivals.find((one) => one.id === reading.id);
  if (rival && rival.if_wrong_mm !== null)
    return `If ${reading.id} is the wrong one, it should read ${rival.if_wrong_mm.toFixed(1)} mm.`;
  return `${reading.id} is one of several that check only each other, and one of them is wrong.`;
}

/** What a suspect reading can become, one press each. @param {Reading} reading @param {Known} answer @param {Change} change @param {string} [of] where the reading does not stand beside them: which one it is */
const corrections = (reading, answer, change, of = "") => [
  answer.probably.map((p, i) =>
    button(
      `Use ${format(p.value, "mm", 2)} ${p.unit}${of && ` for ${of}`}`,
      () => {
        change({ value: p.value, unit: p.unit }, `Correct reading ${reading.id}`);
        // The button goes with the doubt: one goes on where it stood.
        focusSoon(of ? "survey-state" : `value-${reading.id}`);
      },
      { class: i || of ? null : "do", title: p.why, "data-keep": `${of && "said-"}use-${reading.id}-${i}` },
    ),
  ),
  button(`Exclude${of && ` ${of}`}`, () => change({ set_aside: true }, `Exclude ${reading.id}`), {
    "data-keep": `${of && "said-"}exclude-${reading.id}`,
  }),
];

/** The same where the survey's result is said, for the list of readings may be long. @param {import("../steps/parts.js").Context} context @param {Known} answer */
export function correctionsOf({ store, actions }, answer) {
  const { document } = store.get();
  const { id } = answer;
  const reading = (document.survey?.readings ?? []).find((one) => one.id === id);
  if (!reading || reading.set_aside || !answer.probably.length) return null;
  return h(
    "div.actions-row",
    {},
    corrections(reading, answer, (values, label) => actions.commit(changeReading(document, id, values), label ?? ""), id),
  );
}

/** What a suspect reading probably is, and what can be done. @param {Reading} reading @param {Known} answer @param {Change} change @param {import("../types.js").SurveyAnswer["rivals"]} rivals */
function remedies(reading, answer, change, rivals) {
  return [
    h("p", {}, wrong(reading, answer, rivals)),
    h(
      "div.actions-row",
      {},
      corrections(reading, answer, change),
    ),
    answer.probably.length > 0 &&
      h("p.quiet", {}, answer.probably.map((p) => `${format(p.value, "mm", 2)} ${p.unit}: ${p.why}`).join("; ")),
  ];
}

/** A note on a reading, and whether it is used. @param {import("../steps/parts.js").Context} context @param {Reading} reading @param {Change} change */
const aside = (context, reading, change) => [
  h(
    "label.reading-note",
    {},
    h("span", {}, "Note"),
    typed(context, {
      keep: `note-${reading.id}`,
      label: `Note on ${reading.id}`,
      value: reading.note ?? "",
      most: 2000,
      take: (note) => change({ note: note || undefined }),
    }),
  ),
  h(
    "label.check",
    {},
    h("input", {
      type: "checkbox",
      checked: Boolean(reading.set_aside),
      "data-keep": `exclude-check-${reading.id}`,
      onchange: (event) =>
        change(
          { set_aside: event.currentTarget.checked || undefined },
          event.currentTarget.checked ? `Exclude ${reading.id}` : `Include ${reading.id} again`,
        ),
    }),
    "Exclude: keep it, but do not use it",
  ),
];

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
  const choose = (/** @type {"points"|"wall"} */ key, /** @type {number} */ at, /** @type {string} */ words) =>
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
      choose("points", 0, "Point"),
      shape.points === 2 && choose("points", 1, "Second point"),
      shape.wall && [h("span", {}, "wall"), choose("wall", 0, "Wall from"), choose("wall", 1, "Wall to")],
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
    ...aside(context, reading, change),
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
