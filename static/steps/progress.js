/** The steps of the job, and how far each is. Pure. */

import { DEFAULTS } from "../format.js";
import { itemsOf } from "../model/document.js";

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
 * @typedef {{words: string, done: boolean, missing: string}} Progress  a few words, whether the step is done, what is missing
 */

/** How far each step is. @param {PlateDocument} document @param {Answer|null} answer @param {Revision[]} [revisions] @returns {Record<string, Progress>} */
export function progressOf(document, answer, revisions = []) {
  const kept = (/** @type {string} */ kind) => revisions.filter((revision) => revision.kind === kind).length;
  return {
    measure: measured(document, answer),
    "lay-out": laidOut(document),
    channels: connected(document),
    check: checked(document, answer),
    "test-piece": kept("test-piece")
      ? { words: some(kept("test-piece"), "revision"), done: true, missing: "" }
      : { words: "none cut", done: false, missing: "No test piece has been tried in the case." },
    "hand-off": handedOff(kept("hand-off") > 0, (answer?.counts?.error ?? 0) > 0),
  };
}

/** @param {PlateDocument} document @param {Answer|null} answer @returns {Progress} */
function measured(document, answer) {
  const readings = document.survey?.readings?.length ?? 0;
  if (!readings)
    return {
      words: "floor typed in",
      done: true,
      missing: "The floor was typed in, not surveyed: nothing says how sure it is.",
    };
  const suspects = (answer?.survey?.readings ?? []).filter((reading) => reading.suspect).length;
  return suspects
    ? { words: some(suspects, "suspect reading"), done: false, missing: "A reading does not agree with the others." }
    : { words: some(readings, "reading"), done: true, missing: "" };
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
function unservedPorts(document) {
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

/** @param {PlateDocument} document @param {Answer|null} answer @returns {Progress} */
function checked(document, answer) {
  const counts = answer?.counts;
  if (!counts) return { words: "checking", done: false, missing: "" };
  if (counts.error)
    return { words: `${counts.error} to fix`, done: false, missing: "Errors stand in the way of a hand-off." };
  const flowing = Boolean(answer?.flow?.operating_point) || !itemsOf(document, "channel").length;
  return { words: counts.warning ? some(counts.warning, "warning") : "no errors", done: flowing, missing: "" };
}

/** @param {boolean} done @param {boolean} blocked @returns {Progress} */
function handedOff(done, blocked) {
  if (done) return { words: "handed off", done, missing: "" };
  return blocked
    ? { words: "blocked", done, missing: "Fix the errors first, or write why they are accepted." }
    : { words: "not yet", done, missing: "" };
}
