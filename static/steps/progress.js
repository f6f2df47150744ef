/** The steps of the job, and how far each is. Pure. */

import { DEFAULTS } from "../format.js";
import { itemsOf } from "../model/document.js";
import { flows, verdictOf } from "../model/verdict.js";

export const STEPS = Object.freeze([
  { step: "measure", title: "Measure" },
  { step: "lay-out", title: "Lay out" },
  { step: "channels", title: "Run channels" },
  { step: "check", title: "Check" },
  { step: "test-piece", title: "Test piece" },
  { step: "hand-off", title: "Hand off" },
]);

const some = (/** @type {number} */ n, /** @type {string} */ one, many = `${one}s`) => `${n} ${n === 1 ? one : many}`;

/**
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Answer} Answer
 * @typedef {import("../types.js").Revision} Revision
 * @typedef {{words: string, done: boolean, missing: string, enough?: boolean}} Progress
 *   a few words, whether the step is done, what is missing, and whether the job can go on all the same
 */

/** How far each step is. @param {PlateDocument} document @param {Answer|null} answer @param {Revision[]} [revisions] @param {string} [old] why the answer is not about the plate as it is now @returns {Record<string, Progress>} */
export function progressOf(document, answer, revisions = [], old = "") {
  const kept = (/** @type {string} */ kind) => revisions.filter((revision) => revision.kind === kind).length;
  return {
    measure: measured(document, answer),
    "lay-out": laidOut(document),
    channels: connected(document),
    check: checked(document, answer, old),
    "test-piece": kept("test-piece")
      ? { words: some(kept("test-piece"), "revision"), done: true, missing: "" }
      : { words: "none cut", done: false, missing: "No test piece has been tried in the case." },
    "hand-off": handedOff(kept("hand-off") > 0, verdictOf(answer, old).kind),
  };
}

/** @param {PlateDocument} document @param {Answer|null} answer @returns {Progress} */
function measured(document, answer) {
  const readings = document.survey?.readings?.length ?? 0;
  if (!readings)
    return {
      words: "floor typed in",
      // A tick says that nothing is missing: a typed floor is a claim that no reading bears out.
      done: false,
      enough: true,
      missing: "The floor was typed in, not surveyed: nothing says how sure it is.",
    };
  const survey = answer?.survey;
  if (!survey)
    return { words: answer ? "not calculated" : "checking", done: false, missing: answer?.reasons?.survey ?? "" };
  if (survey.units?.length)
    return { words: "check the unit", done: false, missing: "The readings may be in another unit than was typed." };
  const suspects = survey.readings.filter((reading) => reading.suspect).length;
  if (suspects)
    return {
      words: some(suspects, "suspect reading"),
      done: false,
      missing: "A reading does not agree with the others.",
    };
  if (survey.agrees === false)
    return {
      words: "readings disagree",
      done: false,
      missing: "One of the readings is wrong, and they cannot tell which.",
    };
  const open = survey.points.filter((point) => point.loose).length;
  if (open)
    return {
      words: `${some(open, "point")} open`,
      done: false,
      missing: "A point is not determined by the readings yet.",
    };
  return { words: some(readings, "reading"), done: true, missing: "" };
}

/** @param {PlateDocument} document @returns {Progress} */
function laidOut(document) {
  const ports = itemsOf(document, "port");
  const open = unservedPorts(document);
  if (open.length)
    return {
      words: `${some(open.length, "tube")} to place`,
      done: false,
      missing: `No port serves ${open.join(", ")} yet.`,
    };
  const missing = ports.length ? "" : "No port has been added yet.";
  return { words: some(ports.length, "port"), done: ports.length > 0, missing };
}

/** Device ports that no port of the plate serves and no tube reaches. @param {PlateDocument} document */
export function unservedPorts(document) {
  const reached = new Set([
    ...itemsOf(document, "port").map((port) => port.serves),
    ...(document.loop?.tubes ?? []).flatMap((tube) => [tube.start, tube.end]),
  ]);
  return itemsOf(document, "device")
    .flatMap((device) => (device.ports ?? []).map((port) => `${device.id}.${port.id}`))
    .filter((ref) => !reached.has(ref));
}

/** @param {PlateDocument} document @returns {Progress} */
function connected(document) {
  const channels = itemsOf(document, "channel");
  const reached = new Set(channels.flatMap((channel) => [channel.start, channel.end]));
  const open = itemsOf(document, "port").filter(
    (port) => (port.use ?? DEFAULTS.Port.use) === "loop" && !reached.has(port.id),
  );
  if (open.length)
    return {
      words: `${some(open.length, "port")} unconnected`,
      done: false,
      missing: `No channel reaches ${open.map((port) => port.id).join(", ")}.`,
    };
  const missing = channels.length ? "" : "No channel has been drawn yet.";
  return { words: some(channels.length, "channel"), done: channels.length > 0, missing };
}

/** What is missing on the step Check, by its verdict. @type {Record<string, string>} */
const UNCHECKED = {
  errors: "Errors stand in the way of a hand-off.",
  empty: "Nothing is cut into the plate yet: add a port, a hole or a channel first.",
};

/** @param {PlateDocument} document @param {Answer|null} answer @param {string} old @returns {Progress} */
function checked(document, answer, old) {
  const { kind, words } = verdictOf(answer, old);
  const flowing = flows(answer) || !itemsOf(document, "channel").length;
  const still = (kind === "kept" || kind === "warnings") && !flowing ? "The coolant does not flow yet: the loop is not closed." : "";
  const missing = UNCHECKED[answer?.empty && kind === "warnings" ? "empty" : kind] ?? (kind === "failed" || kind === "old" ? words : still);
  const short = {
    failed: "not known",
    old: "checking",
    checking: "checking",
    kept: "no errors",
    partly: "no errors so far",
    empty: "nothing yet",
  };
  return {
    words: /** @type {Record<string, string>} */ (short)[kind] ?? words.toLowerCase(),
    // A warning of the readings alone makes nothing good of a plate with nothing on it.
    done: (kind === "kept" || kind === "warnings") && flowing && !answer?.empty,
    missing,
  };
}

/** @param {boolean} done @param {import("../model/verdict.js").VerdictKind} kind @returns {Progress} */
function handedOff(done, kind) {
  if (done) return { words: "handed off", done, missing: "" };
  if (kind === "errors")
    return { words: "blocked", done, missing: "Fix the errors first, or write why they are accepted." };
  if (kind === "empty") return { words: "not yet", done, missing: "There is nothing to make yet." };
  return { words: "not yet", done, missing: "" };
}
