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
  const { answer, reference } = store.get();
  const rules = new Map((reference?.rules ?? []).map((r) => [r.name, r]));
  const open = (answer?.findings ?? []).filter((f) => !f.accepted);
  return [
    part(
      "Four questions",
      h(
        "ul.questions",
        {},
        QUESTIONS.map(([key, words]) => {
          const found = open.filter((f) => rules.get(f.rule)?.question === key);
          const errors = found.filter((f) => f.level === "error").length;
          const warnings = found.filter((f) => f.level === "warning").length;
          const verdict = !answer?.findings
            ? "…"
            : errors
              ? `No: ${errors} to fix`
              : warnings
                ? `${warnings} ${warnings === 1 ? "warning" : "warnings"}`
                : "Yes";
          return h(
            `li.question.${errors ? "bad" : warnings ? "maybe" : "good"}`,
            {},
            h("span.question-words", {}, words),
            h("span.answer", {}, verdict),
          );
        }),
      ),
    ),
    part("Look inside", tray(context, ["section", "measure"]), section(context)),
    bending(answer?.lid),
    fold("What the shop can do", false, shop(context)),
    fold(
      "Limits of the rules",
      false,
      h("p.quiet", {}, "Empty: the usual limit. Every rule has its reason beside it."),
      h(
        "div.fields",
        {},
        (reference?.rules ?? []).filter((r) => r.limit !== null && r.limit !== undefined).map((r) => limit(context, r)),
      ),
    ),
  ];
}

/** @param {import("./parts.js").Context} context @param {import("../types.js").Rule} rule */
function limit({ store, actions }, rule) {
  const { document, unit } = store.get();
  const given = dig(document, ["limits", rule.name]);
  /** @type {import("../panels/form.js").Field} */
  const spec = {
    label: rule.title,
    type: rule.unit === "mm" ? "length" : "number",
    least: 0,
    optional: true,
    help: `${rule.reason} (${rule.source}) Usual: ${format(rule.limit ?? 0)} ${rule.unit}.`,
  };
  return field(spec, given ?? null, {
    unit,
    keep: `limit-${rule.name}`,
    given: given !== undefined,
    change: (next) => actions.edit(`Limit of ${rule.name}`, (d) => put(d, ["limits", rule.name], next ?? undefined)),
  });
}

/** @param {import("./parts.js").Context} context */
function section({ store }) {
  const { sectionLine, section } = store.get();
  if (sectionLine?.length === 2) return h("p.quiet", {}, section ? "The section is drawn under the plan." : "Cutting…");
  return h(
    "p.quiet",
    {},
    "Choose the section tool and click two places: the plate is shown cut along that line. Mistakes of depth do not show in a top view.",
  );
}

/** Bending of lid and body at the test pressure. @param {import("../types.js").LidAnswer|null|undefined} lid */
function bending(lid) {
  if (!lid?.bent.length) return null;
  return fold(
    "Bending of lid and body",
    false,
    table(
      "Under each load",
      ["Over", "Load", "Span, mm", "Deflection, mm", "Stress, MPa"],
      lid.bent.map((part) => [
        part.items.join(", ") || part.what,
        part.load,
        format(part.short_span_mm, "mm", 1),
        format(part.deflection_mm, "mm", 3),
        format(part.stress_mpa, "mm", 2),
      ]),
    ),
  );
}
