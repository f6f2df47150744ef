/** Check: the four questions, what the rules hold the plate against, and the section that shows depth. */

import { h } from "../dom.js";
import { dig, put } from "../model/edit.js";
import { field } from "../panels/form.js";
import { format } from "../model/quantity.js";
import { shop } from "./shop.js";
import { fold, part, table } from "./parts.js";
import { tray } from "./layout.js";

/** @type {[string, string][]} */
const QUESTIONS = [
  ["fits", "Does it fit?"],
  ["flows", "Does it flow?"],
  ["holds", "Does it hold?"],
  ["made", "Can it be made?"],
];

/** @param {import("./parts.js").Context} context */
export function check(context) {
  const { store } = context;
  const { look, reference } = store.get();
  const rules = new Map((reference?.rules ?? []).map((/** @type {any} */ r) => [r.name, r]));
  const open = (look?.findings ?? []).filter((/** @type {any} */ f) => !f.accepted);
  return [
    part(
      "Four questions",
      h(
        "ul.questions",
        {},
        QUESTIONS.map(([key, words]) => {
          const found = open.filter((/** @type {any} */ f) => rules.get(f.rule)?.question === key);
          const errors = found.filter((/** @type {any} */ f) => f.level === "error").length;
          const warnings = found.filter((/** @type {any} */ f) => f.level === "warning").length;
          const answer = !look?.findings
            ? "…"
            : errors
              ? `No: ${errors} to mend`
              : warnings
                ? `Look at ${warnings}`
                : "Yes";
          return h(
            `li.question.${errors ? "bad" : warnings ? "maybe" : "good"}`,
            {},
            h("span.question-words", {}, words),
            h("span.answer", {}, answer),
          );
        }),
      ),
    ),
    part("Look inside", tray(context, ["section", "measure"]), section(context)),
    lifted(look),
    fold("What the shop can do", false, shop(context)),
    fold(
      "Limits of the rules",
      false,
      h("p.quiet", {}, "Empty: the usual limit. Every rule has its reason beside it."),
      h(
        "div.fields",
        {},
        (reference?.rules ?? [])
          .filter((/** @type {any} */ r) => r.limit !== null && r.limit !== undefined)
          .map((/** @type {any} */ r) => limit(context, r)),
      ),
    ),
  ];
}

/** @param {import("./parts.js").Context} context @param {any} rule */
function limit({ store, actions }, rule) {
  const { document, unit } = store.get();
  const given = dig(document, ["limits", rule.name]);
  const spec = {
    path: ["limits", rule.name],
    label: rule.title,
    type: rule.unit === "mm" ? "length" : "number",
    least: 0,
    optional: true,
    help: `${rule.reason} (${rule.source}) Usual: ${format(rule.limit)} ${rule.unit}.`,
  };
  return field(/** @type {any} */ (spec), given ?? null, {
    unit,
    keep: `limit-${rule.name}`,
    given: given !== undefined,
    change: (next) =>
      actions.edit(`Limit of ${rule.name}`, (/** @type {any} */ d) => put(d, ["limits", rule.name], next ?? undefined)),
  });
}

/** @param {import("./parts.js").Context} context */
function section({ store }) {
  const { sectionLine, section } = store.get();
  if (sectionLine?.length === 2) return h("p.quiet", {}, section ? "The section is drawn under the plan." : "Cutting…");
  return h(
    "p.quiet",
    {},
    "Take the section in hand and click two places: the plate is shown cut along that line, for depth mistakes hide in a top view.",
  );
}

/** Bending of lid and floor. @param {any} look */
function lifted(look) {
  const strength = look?.strength;
  if (!strength?.panels?.length) return null;
  return fold(
    "How lid and floor bend",
    false,
    table(
      "At the test pressure",
      ["Over", "Span, mm", "Bends, mm", "Stress, MPa"],
      strength.panels.map((/** @type {any} */ p) => [
        (p.items ?? []).join(", ") || p.part,
        format(p.span_mm ?? 0, "mm", 1),
        format(p.deflection_mm ?? 0, "mm", 3),
        format(p.stress_mpa ?? 0, "mm", 2),
      ]),
    ),
  );
}
