/** The panel of the step that is open: heading, what is missing there, and the step's own parts. */

import { h, refill } from "../dom.js";
import { heldStill } from "../pressing.js";
import { allValues } from "./allvalues.js";
import { channels } from "./channels.js";
import { check } from "./check.js";
import { handOff } from "./handoff.js";
import { layout } from "./layout.js";
import { firstSteps, help } from "./help.js";
import { hasMain, mainAction } from "./mainaction.js";
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

/** Steps whose links to files carry the state that is kept; on the others a save changes nothing that is shown. */
const WITH_FILES = ["test-piece", "hand-off"];

/** What saving changes on a panel: an edit would otherwise draw it three times. @param {import("../types.js").State} now @param {import("../types.js").State} before */
const saveShows = ({ step, plate, link }, before) =>
  plate?.id !== before.plate?.id ||
  (link === "away") !== (before.link === "away") ||
  (link === "saved" && WITH_FILES.includes(step) && (plate !== before.plate || link !== before.link));

/**
 * @typedef {Pick<Context, "store"|"actions"|"api"|"ask">} Given
 * @param {Given & {root: HTMLElement}} parts
 */
export function createStepPanel({ root, ...given }) {
  const { store } = given;
  const memory = createMemory();
  const folds = createFolds(root);
  let shownStep = "";

  function draw() {
    const { step, document, plate } = store.get();
    if (!document) return;
    folds.note(shownStep, String(plate?.id ?? ""));
    const context = { ...given, local: memory.of(step, String(plate?.id ?? "")), again };
    const parts = partsOf(context, step);
    // Before they are put in: a field in a closed fold cannot take the focus back.
    folds.restore(step, parts);
    refill(root, ...parts);
    if (shownStep !== step) root.scrollTop = 0;
    shownStep = step;
  }

  let waiting = false;
  const soon = () =>
    requestAnimationFrame(() => {
      // A list that hangs open would be closed under the pointer, a field that is pressed would lose the press.
      if (heldStill(root)) return void soon();
      waiting = false;
      // What is dragged changes the figures of two steps; the others wait for the drag's end.
      if (store.get().draft && !["channels", "check"].includes(store.get().step)) return;
      draw();
    });
  const later = () => {
    if (waiting) return;
    waiting = true;
    soon();
  };
  /** What a step has been waiting for is shown at once, unless a hand is on it. */
  const again = () => (heldStill(root) ? later() : draw());
  store.watch(SHOWS, later);
  store.subscribe((now, before) => {
    if (saveShows(now, before)) later();
  });
  return { draw };
}

/** What each step keeps between two drawings: what is half typed, what was compared, a search. */
function createMemory() {
  /** @type {Record<string, Context["local"]>} */
  const memory = {};
  let plate = "";
  return {
    /** @param {string} step @param {string} id of the plate that is open */
    of(step, id) {
      if (id !== plate) {
        // What is half typed or was compared belongs to the plate that it was about; a search ends by itself.
        for (const [name, { search }] of Object.entries(memory)) memory[name] = search ? { search } : {};
        plate = id;
      }
      memory[step] ??= {};
      return memory[step];
    },
  };
}

/** What the reader has folded open stays so; on another plate folds are as its own state asks for. @param {HTMLElement} root */
function createFolds(root) {
  /** @type {Record<string, boolean>} */
  let open = {};
  let shown = "";
  const name = (/** @type {string} */ step, /** @type {Element} */ fold) =>
    `${step} ${fold.querySelector("summary")?.textContent}`;
  const within = (/** @type {Element} */ part) =>
    /** @type {HTMLDetailsElement[]} */ ([part, ...part.querySelectorAll("details.fold")]).filter((one) => one.matches("details.fold"));
  return {
    /** @param {string} step that is shown now @param {string} plate that is shown next */
    note(step, plate) {
      if (plate !== shown) {
        shown = plate;
        open = {};
        return;
      }
      for (const fold of within(root)) open[name(step, fold)] = fold.open;
    },
    /** @param {string} step @param {import("../types.js").Child[]} parts that come into the page next */
    restore(step, parts) {
      for (const part of parts) {
        if (!(part instanceof Element)) continue;
        for (const fold of within(part)) fold.open = open[name(step, fold)] ?? fold.open;
      }
    },
  };
}

/** Heading, what is missing there, the step's own parts, and help. @param {Context} context @param {string} step @returns {import("../types.js").Child[]} */
function partsOf(context, step) {
  const { store, actions } = context;
  const { document, answer, revisions, old } = store.get();
  const panel = PANELS[step];
  const title = STEPS.find((s) => s.step === step)?.title ?? "";
  const progress = progressOf(document, answer, revisions ?? [], old);
  const own = flat(panel.draw(context));
  return [
    h(
      "header.step-head",
      {},
      h("h2", { id: "step-title", tabindex: "-1", "data-keep": "step-title" }, title),
      h("p.purpose", {}, panel.purpose),
      lead(progress[step]),
      mainAction(context, STEPS, step, progress, hasMain(own)),
    ),
    ...(answer?.empty ? [firstSteps(actions, STEPS, step)] : []),
    ...own,
    allValues(context, step),
    ...help(step),
  ];
}

/** Lists in lists as one. @param {import("../types.js").Child} child @returns {import("../types.js").Child[]} */
const flat = (child) => (Array.isArray(child) ? child.flatMap(flat) : [child]);
