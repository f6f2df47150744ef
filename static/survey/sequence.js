/**
 * Readings one after the other: the pairs are said first, then only values are typed. A caliper that types sends digits and
 * Enter, and so goes down the list with nobody at the keyboard.
 */

import { h } from "../dom.js";
import { DEFAULTS } from "../format.js";
import { QuantityError, faultOf } from "../model/quantity.js";
import { button } from "../panels/form.js";
import { fold } from "../steps/parts.js";
import { addReading, readingValue, surveyOf } from "./edits.js";
import { focusSoon, freshEntry } from "./entry.js";

/** @typedef {[string, string]} Pair */

/** Pairs in a text: "A-B, B-C" or "A B, B C". @param {string} text @param {Set<string>} known @returns {Pair[]} @throws {QuantityError} */
export function pairsIn(text, known) {
  return text
    .split(/[,;\n]+/)
    .map((part) => part.trim())
    .filter(Boolean)
    .map((part) => {
      const names = part.split(/\s*[-–]\s*|\s+/).filter(Boolean);
      const strange = names.find((name) => !known.has(name));
      if (strange) throw new QuantityError(`There is no point ${strange}.`);
      if (names.length !== 2 || names[0] === names[1])
        throw new QuantityError(`“${part}” is no pair of points: write A-B, B-C.`);
      return /** @type {Pair} */ ([names[0], names[1]]);
    });
}

/** Every pair of points between which no distance has been read. @param {import("../types.js").PlateDocument} document @returns {Pair[]} */
export function unreadPairs(document) {
  const { points, readings } = surveyOf(document);
  const key = (/** @type {string} */ a, /** @type {string} */ b) => [a, b].sort().join(" ");
  const read = new Set(
    readings.filter((r) => (r.kind ?? DEFAULTS.Reading.kind) === "distance").map((r) => key(r.points[0], r.points[1] ?? "")),
  );
  return points.flatMap((a, i) =>
    points
      .slice(i + 1)
      .filter((b) => !read.has(key(a.id, b.id)))
      .map((b) => /** @type {Pair} */ ([a.id, b.id])),
  );
}

/** @param {import("../steps/parts.js").Context} context */
export function sequence(context) {
  const { store, local, again } = context;
  const { document } = store.get();
  const { points } = surveyOf(document);
  if (points.length < 2) return null;
  /** @type {Sequence} */
  const empty = { text: "", pairs: [], at: 0, fault: "", value: "" };
  local.sequence ??= empty;
  const now = local.sequence;
  const begin = (/** @type {Pair[]} */ pairs) => {
    Object.assign(now, { pairs, at: 0, fault: pairs.length ? "" : "Every pair has been read.", value: "" });
    again();
    if (pairs.length) focusSoon("sequence-value");
  };
  return fold(
    "One after the other, or with a caliper that types",
    now.pairs.length > 0,
    h(
      "p.quiet",
      {},
      "Say the pairs, then type only values; Enter goes on to the next. Tool and unit are those of the form above.",
    ),
    h("label", { for: "sequence-pairs" }, "Pairs of points"),
    h("input", {
      id: "sequence-pairs",
      type: "text",
      autocomplete: "off",
      placeholder: "A-B, B-C, A-C",
      "data-keep": "sequence-pairs",
      value: now.text,
      oninput: (event) => {
        now.text = event.currentTarget.value;
      },
    }),
    h(
      "div.actions-row",
      {},
      button(
        "Begin",
        () => {
          const fault = faultOf(() => begin(pairsIn(now.text, new Set(points.map((p) => p.id)))));
          if (!fault) return;
          now.fault = fault;
          again();
        },
        { "data-keep": "sequence-begin" },
      ),
      button("All pairs that are not read yet", () => begin(unreadPairs(document)), { "data-keep": "sequence-all" }),
    ),
    now.at < now.pairs.length && running(context, now),
    h("p.problem", { role: "alert" }, now.fault),
  );
}

/** A list of pairs, and how far it has come. @typedef {{text: string, pairs: [string, string][], at: number, fault: string, value: string}} Sequence */

/** The pair that is to be read now. @param {import("../steps/parts.js").Context} context @param {Sequence} now the list as far as it has come */
function running(context, now) {
  const { store, actions, again } = context;
  const [from, to] = now.pairs[now.at];
  const on = () => {
    Object.assign(now, { at: now.at + 1, value: "", fault: "" });
    focusSoon(now.at < now.pairs.length ? "sequence-value" : "sequence-all");
  };
  /** @param {HTMLInputElement} input */
  const take = (input) => {
    // A caliper types the next value before this one is drawn: the pair is asked for now, and the field emptied at once.
    const pair = now.pairs[now.at];
    if (!pair) return;
    const { tool, unit } = freshEntry(context);
    const fault = faultOf(() => {
      const read = readingValue(now.value, unit);
      const made = addReading(store.get().document, { kind: "distance", points: [...pair], ...read, tool });
      on();
      input.value = "";
      actions.commit(made.document, `Read ${made.id}`);
    });
    if (!fault) return;
    now.fault = fault;
    again();
  };
  return h(
    "div.sequence-now",
    {},
    h("label", { for: "sequence-value" }, `${from} to ${to} (${now.at + 1} of ${now.pairs.length})`),
    h("input", {
      id: "sequence-value",
      type: "text",
      autocomplete: "off",
      "data-keep": "sequence-value",
      value: now.value,
      oninput: (event) => {
        now.value = event.currentTarget.value;
      },
      onkeydown: (event) => {
        if (event.key !== "Enter") return;
        event.preventDefault();
        take(event.currentTarget);
      },
    }),
    button(
      "Skip",
      () => {
        on();
        again();
      },
      { "data-keep": "sequence-skip" },
    ),
  );
}
