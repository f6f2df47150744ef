/** The panel of the step that is open: heading, what is missing there, and the step's own parts. */

import { h, refill } from "../dom.js";
import { allValues } from "./allvalues.js";
import { channels } from "./channels.js";
import { check } from "./check.js";
import { handOff } from "./handoff.js";
import { layout } from "./layout.js";
import { firstSteps, help, onward } from "./help.js";
import { measure } from "./measure.js";
import { lead } from "./parts.js";
import { testPiece } from "./testpiece.js";
import { STEPS, progressOf } from "./progress.js";

/** @typedef {import("./parts.js").Context} Context */

/** @type {Record<string, {purpose: string, draw: (context: Context) => import("../types.js").Child}>} */
const PANELS = {
  measure: { purpose: "Everything stands on the floor as it truly is. Measure it, or type it in.", draw: measure },
  "lay-out": { purpose: "Ports where the tubes come down; everything else keeps clear.", draw: layout },
  channels: { purpose: "Join the ports under the lid, and see what each channel costs.", draw: channels },
  check: { purpose: "Fits, flows, holds, can be made: four answers with their reasons.", draw: check },
  "test-piece": { purpose: "Cut cheap, try it in the case, write down what was wrong, cut again.", draw: testPiece },
  "hand-off": { purpose: "Seal it, close it, and give the shop all it needs.", draw: handOff },
};

/** What the panel is drawn from. @type {(keyof import("../types.js").State)[]} */
const SHOWS = [
  "step",
  "document",
  "answer",
  "old",
  "unit",
  "tool",
  "selection",
  "plate",
  "link",
  "reference",
  "section",
  "sectionLine",
  "revisions",
  "snapping",
  "rerouting",
  "ellipseScale",
  "photoPlace",
  "reading",
];

/** @param {{store: import("../types.js").Store, actions: import("../types.js").Actions, api: import("../types.js").Api, ask: any, root: HTMLElement}} parts */
export function createStepPanel({ store, actions, api, ask, root }) {
  /** @type {Record<string, Context["local"]>} */
  const memory = {};
  let shownPlate = "";
  /** @type {Record<string, boolean>} */
  const open = {};
  let shownStep = "";

  function draw() {
    const { step, document, answer, revisions, old } = store.get();
    if (!document) return;
    // What the reader has folded open stays so.
    for (const details of root.querySelectorAll("details.fold"))
      open[`${shownStep} ${details.querySelector("summary")?.textContent}`] = /** @type {HTMLDetailsElement} */ (
        details
      ).open;
    const id = String(store.get().plate?.id ?? "");
    if (id !== shownPlate) {
      // What is half typed or was compared belongs to the plate that it was about; a search ends by itself.
      for (const [name, { search }] of Object.entries(memory)) memory[name] = search ? { search } : {};
      shownPlate = id;
    }
    memory[step] ??= {};
    const context = { store, actions, api, ask, local: memory[step], again: draw };
    const panel = PANELS[step];
    const title = STEPS.find((s) => s.step === step)?.title ?? "";
    const progress = progressOf(document, answer, revisions ?? [], old);
    const parts = [
      h(
        "header.step-head",
        {},
        h("h2", { id: "step-title", tabindex: "-1", "data-keep": "step-title" }, title),
        h("p.purpose", {}, panel.purpose),
        lead(progress[step]),
        onward(actions, STEPS, step, progress),
      ),
      ...(answer?.empty ? [firstSteps(actions, STEPS, step)] : []),
      ...flat(panel.draw(context)),
      allValues(context, step),
      ...help(step),
    ];
    // Before they are put in: a field in a closed fold cannot take the focus back.
    for (const part of parts) {
      if (!(part instanceof Element)) continue;
      for (const details of [part, ...part.querySelectorAll("details.fold")]) {
        const was = open[`${step} ${details.querySelector("summary")?.textContent}`];
        if (details.matches("details.fold") && was !== undefined)
          /** @type {HTMLDetailsElement} */ (details).open = was;
      }
    }
    refill(root, ...parts);
    if (shownStep !== step) root.scrollTop = 0;
    shownStep = step;
  }

  let waiting = false;
  store.watch(SHOWS, () => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      // What is dragged changes the figures of two steps; the others wait for the drag's end.
      if (store.get().draft && !["channels", "check"].includes(store.get().step)) return;
      draw();
    });
  });
  return { draw };
}

/** Lists in lists as one. @param {import("../types.js").Child} child @returns {import("../types.js").Child[]} */
const flat = (child) => (Array.isArray(child) ? child.flatMap(flat) : [child]);
