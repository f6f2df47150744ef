/** The one main action of a step: its own, the thing that is missing, or the way on. All others stay quiet. */

import { TOOLS } from "../canvas/tools.js";
import { focusOn, h } from "../dom.js";
import { go } from "../panels/findingrow.js";
import { button } from "../panels/form.js";
import { verdictOf } from "../model/verdict.js";

/**
 * @typedef {import("./parts.js").Context} Context
 * @typedef {import("./progress.js").Progress} Progress
 * @typedef {readonly {step: string, title: string}[]} Steps
 */

/** A main action in what a step shows, not in a fold that is closed. @param {import("../types.js").Child[]} parts */
export const hasMain = (parts) =>
  parts.some(
    (part) =>
      part instanceof Element && [...part.querySelectorAll(".do")].some((one) => !one.closest("details:not([open])")),
  );

/**
 * What stands under the heading: the way on, or what is missing, as the main action where the step has none of its own.
 * @param {Context} context @param {Steps} steps @param {string} here @param {Record<string, Progress>} progress @param {boolean} own
 */
export function mainAction(context, steps, here, progress, own) {
  const { store, actions } = context;
  const { answer, old, document } = store.get();
  const next = steps[steps.findIndex(({ step }) => step === here) + 1];
  const onward = (/** @type {string} */ words, /** @type {() => void} */ act) =>
    h("p.onward", {}, button(words, act, { class: own ? "link" : "do", "data-keep": "onward" }));
  const to = (/** @type {string} */ words, /** @type {string} */ step) => onward(words, () => actions.step(step));
  const { done, enough } = progress[here];
  if (next && (done || enough)) return to(`Next: ${next.title} →`, next.step);
  if (own) return null;
  const tool = (/** @type {string} */ words, /** @type {string} */ name) =>
    onward(words, () => {
      actions.tool(TOOLS[name]);
      focusOn("#stage");
    });
  if (verdictOf(answer, old).kind === "empty" && here !== "lay-out") return to("Begin with Lay out →", "lay-out");
  if (here === "lay-out") return tool("Add a port", "port");
  if (here === "channels") return document.ports?.length ? tool("Draw a channel", "channel") : to("Begin with Lay out →", "lay-out");
  const error = answer?.findings?.find((f) => f.level === "error" && !f.accepted);
  if (error)
    return onward("Show the first error", () => {
      store.set({ margin: "open" });
      go(context, error);
    });
  return here === "check" && verdictOf(answer, old).kind !== "checking" ? to("Close the loop in Run channels →", "channels") : null;
}
