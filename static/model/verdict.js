/**
 * What the checks come to, in words: the one place that decides whether the page may say that all is well. Pure.
 *
 * @typedef {import("../types.js").Answer} Answer
 * @typedef {import("../types.js").Finding} Finding
 * @typedef {"checking"|"failed"|"old"|"empty"|"errors"|"warnings"|"partly"|"kept"} VerdictKind
 *   partly: nothing found by the rules that have been run so far
 * @typedef {{kind: VerdictKind, words: string}} Verdict
 */

/** The four questions, in the order of the job. @type {[string, string][]} */
export const QUESTIONS = [
  ["fits", "Does it fit?"],
  ["flows", "Does it flow?"],
  ["holds", "Does it hold?"],
  ["made", "Can it be made?"],
];

const some = (/** @type {number} */ n, /** @type {string} */ one) => `${n} ${n === 1 ? one : `${one}s`}`;

/** Parts of the answer by the names that people know. @type {Record<string, string>} */
const PARTS = {
  findings: "the checks",
  flow: "the flow",
  seal: "the seal",
  lid: "the lid",
  survey: "the survey",
  snaps: "places to snap to",
  drawing: "the drawing",
};

/** Parts that could not be worked out, in a sentence; empty when there is none. @param {Answer|null} answer */
export const failedParts = (answer) =>
  Object.entries(answer?.reasons ?? {})
    .map(([part, why]) => `${PARTS[part] ?? part}: ${why}`)
    .join("; ");

/** @param {Answer|null} answer @param {string} [old] why the answer is not about the plate as it is now @returns {Verdict} */
export function verdictOf(answer, old = "") {
  const failed = failedParts(answer);
  const found = answer?.findings;
  if (!found) {
    if (failed) return { kind: "failed", words: `Not worked out: ${failed}` };
    return old ? { kind: "old", words: old } : { kind: "checking", words: "Checking…" };
  }
  if (old) return { kind: "old", words: old };
  const open = found.filter((f) => !f.accepted);
  const errors = open.filter((f) => f.level === "error").length;
  const warnings = open.filter((f) => f.level === "warning").length;
  if (errors) return { kind: "errors", words: `${errors} to fix` };
  if (failed) return { kind: "failed", words: `Not worked out: ${failed}` };
  if (warnings) return { kind: "warnings", words: some(warnings, "warning") };
  if (answer.empty) return { kind: "empty", words: "Nothing to check yet" };
  if (answer.quick) return { kind: "partly", words: "No errors so far" };
  return { kind: "kept", words: open.length ? "No errors, no warnings" : "No findings" };
}

/**
 * The answer to one of the four questions, and what was not looked at for it.
 * @param {Answer|null} answer @param {string} key @param {string} [old]
 * @returns {{kind: VerdictKind|"no-flow", words: string, unseen: string[]}}
 */
export function questionVerdict(answer, key, old = "") {
  const asked = (answer?.questions ?? []).find((one) => one.question === key);
  const { kind } = verdictOf(answer, old);
  if (!asked || kind === "checking" || kind === "old")
    return { kind: kind === "old" ? kind : "checking", words: "…", unseen: [] };
  const unseen = asked.not_looked_at;
  const { error, warning } = asked.counts;
  if (error) return { kind: "errors", words: `No: ${error} to fix`, unseen };
  if (failedParts(answer)) return { kind: "failed", words: "Not known", unseen };
  if (answer?.empty) return { kind: "empty", words: "Nothing to check yet", unseen };
  if (key === "flows" && !flows(answer)) return { kind: "no-flow", words: "No flow yet", unseen };
  if (warning) return { kind: "warnings", words: some(warning, "warning"), unseen };
  if (answer?.quick) return { kind: "partly", words: "So far", unseen };
  return unseen.length
    ? { kind: "partly", words: "Yes, for what was checked", unseen }
    : { kind: "kept", words: "Yes", unseen };
}

/** Whether coolant moves. @param {Answer|null} answer */
export const flows = (answer) => Math.abs(answer?.flow?.operating_point?.flow_l_min ?? 0) > 1e-6;
