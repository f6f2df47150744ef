/**
 * The way of the job: six stations on one channel. Each says what it needs, how far it is and what is missing; none is
 * ever closed to anyone. `progressOf` is pure.
 */

import { itemsOf } from "../model/document.js";
import { h, refill } from "../dom.js";

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
 * How far each step is: a few words, and whether nothing is missing there.
 * @param {any} document @param {import("../types.js").Look|null} look @param {any[]} [revisions]
 * @returns {Record<string, {words: string, done: boolean, missing: string}>}
 */
export function progressOf(document, look, revisions = []) {
  const survey = document.survey ?? {};
  const readings = survey.readings ?? [];
  const suspects = (look?.survey?.readings ?? []).filter((/** @type {any} */ r) => r.suspect).length;
  const ports = itemsOf(document, "port");
  const channels = itemsOf(document, "channel");
  const reached = new Set(channels.flatMap((c) => [c.start, c.end]));
  const loose = ports.filter((p) => (p.use ?? "loop") === "loop" && !reached.has(p.id));
  const counts = look?.counts;
  const flowing = Boolean(look?.flow?.operating_point);
  const pieces = revisions.filter((r) => r.kind === "test-piece");
  const handed = revisions.filter((r) => r.kind === "hand-off");
  const served = new Set(ports.map((p) => p.serves).filter(Boolean));
  const tubed = new Set((document.loop?.tubes ?? []).flatMap((/** @type {any} */ t) => [t.start, t.end]));
  const unserved = itemsOf(document, "device")
    .flatMap((d) => (d.ports ?? []).map((/** @type {any} */ p) => `${d.id}.${p.id}`))
    .filter((ref) => !served.has(ref) && !tubed.has(ref));
  return {
    measure: readings.length
      ? {
          words: suspects ? some(suspects, "suspect reading") : some(readings.length, "reading"),
          done: !suspects,
          missing: suspects ? "A reading does not agree with the others." : "",
        }
      : {
          words: "floor typed in",
          done: true,
          missing: "The floor was typed in, not surveyed: nothing says how sure it is.",
        },
    "lay-out": {
      words: unserved.length ? `${some(unserved.length, "tube")} to place` : some(ports.length, "port"),
      done: ports.length > 0 && !unserved.length,
      missing: unserved.length
        ? `No port serves ${unserved.join(", ")} yet.`
        : ports.length
          ? ""
          : "No port is set down yet.",
    },
    channels: {
      words: loose.length ? `${some(loose.length, "port")} dry` : some(channels.length, "channel"),
      done: channels.length > 0 && !loose.length,
      missing: loose.length
        ? `No channel reaches ${loose.map((p) => p.id).join(", ")}.`
        : channels.length
          ? ""
          : "No channel is drawn yet.",
    },
    check: counts
      ? {
          words: counts.error
            ? `${counts.error} to mend`
            : counts.warning
              ? `${counts.warning} to look at`
              : "all kept",
          done: !counts.error && (flowing || !channels.length),
          missing: counts.error ? "Errors stand in the way of a hand-off." : "",
        }
      : { words: "looking", done: false, missing: "" },
    "test-piece": pieces.length
      ? { words: some(pieces.length, "cut"), done: true, missing: "" }
      : { words: "none cut", done: false, missing: "No test piece has been tried in the case." },
    "hand-off": handed.length
      ? { words: "handed off", done: true, missing: "" }
      : {
          words: counts?.error ? "held back" : "not yet",
          done: false,
          missing: counts?.error ? "Mend the errors first, or write why they may stand." : "",
        },
  };
}

/** @param {{store: any, actions: any, root: HTMLElement}} parts */
export function createWay({ store, actions, root }) {
  let drawn = "";

  function draw() {
    const { document, look, step, revisions } = store.get();
    if (!document) return;
    const progress = progressOf(document, look, revisions ?? []);
    const now = JSON.stringify([step, progress]);
    if (now === drawn) return;
    drawn = now;
    refill(
      root,
      h(
        "ol",
        {},
        STEPS.map(({ step: name, title }, i) => {
          const { words, done, missing } = progress[name];
          return h(
            "li",
            { class: `${name === step ? "here" : ""} ${done ? "done" : ""}`.trim() || null },
            h(
              "button",
              {
                type: "button",
                "aria-current": name === step ? "step" : null,
                "data-keep": `way-${name}`,
                title: missing || null,
                dataset: { step: name },
                onclick: () => actions.step(name),
              },
              h("span.station", { "aria-hidden": "true" }, done ? "✓" : String(i + 1)),
              h("span.way-words", {}, h("span.way-title", {}, title), h("span.way-state", {}, words)),
            ),
          );
        }),
      ),
    );
  }
  store.watch(["document", "look", "step", "revisions"], draw);
  return { draw };
}
