/** Check: the four questions, what the rules hold the plate against, and the section that shows depth. */

import { h } from "../dom.js";
import { dig, put } from "../model/edit.js";
import { field } from "../panels/form.js";
import { format } from "../model/quantity.js";
import { QUESTIONS, failedParts, questionVerdict } from "../model/verdict.js";
import { shop } from "./shop.js";
import { bending } from "./seal.js";
import { fold, part } from "./parts.js";

/** @param {import("./parts.js").Context} context */
export function check(context) {
  const { store } = context;
  const { answer, old, reference } = store.get();
  return [
    part(
      "Four questions",
      old && h("p.old-answer", {}, old),
      failedParts(answer) && h("p.problem", {}, `Not worked out: ${failedParts(answer)}`),
      h(
        "ul.questions",
        {},
        QUESTIONS.map(([key, words]) => question(answer, key, words, old)),
      ),
    ),
    part("Look inside", section(context)),
    answer?.lid?.pressure_test &&
      answer.lid.bent.length > 0 &&
      part("Pressure test", h("p", {}, answer.lid.pressure_test.text)),
    bending(answer?.lid),
    fold("What the shop can do", false, shop(context)),
    fold(
      "Limits of the rules",
      false,
      h("p.quiet", {}, "An empty field keeps the usual limit, shown in it. Every rule has its reason beside it."),
      h(
        "div.fields",
        {},
        (reference?.rules ?? []).filter((r) => r.limit !== null && r.limit !== undefined).map((r) => limit(context, r)),
      ),
    ),
  ];
}

/** How each answer is signed: good, maybe, bad, or open. @type {Record<string, string>} */
const SIGNED = { kept: "good", partly: "partly", warnings: "maybe", "no-flow": "open", errors: "bad", failed: "bad" };

/** @param {import("../types.js").Answer|null} answer @param {string} key @param {string} words @param {string} old */
function question(answer, key, words, old) {
  const { kind, words: verdict, unseen } = questionVerdict(answer, key, old);
  return h(
    `li.question.${SIGNED[kind] ?? "open"}`,
    { dataset: { question: key } },
    h("span.question-words", {}, words),
    h("span.answer", {}, verdict),
    unseen.length > 0 &&
      h(
        "div.unseen-things",
        {},
        h("p", {}, "Not looked at:"),
        h(
          "ul",
          {},
          unseen.map((one) => h("li", {}, one)),
        ),
      ),
  );
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
    hint: format(rule.limit ?? 0, rule.unit === "mm" ? unit : "mm"),
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
    "Choose the section tool beside the drawing (X) and click two places: the plate is shown cut along that line. Mistakes of depth do not show in a top view.",
  );
}
