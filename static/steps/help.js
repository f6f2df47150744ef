/** Help beside the work: how this step goes, what the words mean, and on an empty plate the way through all six. */

import { h } from "../dom.js";
import { HOW, WORDS } from "../helptexts.js";
import { fold } from "./parts.js";

/**
 * @typedef {import("../types.js").Actions} Actions
 */

/** What each step is for, in a few words. @type {Record<string, string>} */
const FIRST = {
  measure: "Measure the floor, or keep the size you typed.",
  "lay-out": "Add boards, devices, and a port under each tube.",
  channels: "Say what is joined, and draw or propose the channels.",
  check: "Fix what is found, until no error is left.",
  "test-piece": "Cut cheap sheet, try it, and correct.",
  "hand-off": "Place seal and screws, and give the shop its package.",
};

/** The way through the steps, while nothing is on the plate yet. @param {Actions} actions @param {readonly {step: string, title: string}[]} steps @param {string} here */
export const firstSteps = (actions, steps, here) =>
  h(
    "section.first-steps",
    { "aria-label": "First steps" },
    h("h3", {}, "First steps"),
    h(
      "ol",
      {},
      steps.map(({ step, title }) =>
        h(
          "li",
          { class: step === here ? "here" : null },
          h("button.link", { type: "button", "data-keep": `first-${step}`, onclick: () => actions.step(step) }, title),
          step === here ? ` ${FIRST[step]}` : null,
        ),
      ),
    ),
  );

/** How this step goes, and the words. @param {string} step */
export const help = (step) => [
  fold(
    "Help with this step",
    false,
    (HOW[step] ?? []).map((words) => h("p", {}, words)),
  ),
  words(),
];

/** The words; they are many, so they are put in when somebody opens them. */
function words() {
  const list = h("dl.glossary", {});
  const part = fold("What the words mean", false, list);
  part.addEventListener("toggle", () => {
    if (!list.firstChild) list.append(...WORDS.flatMap(([word, meaning]) => [h("dt", {}, word), h("dd", {}, meaning)]));
  });
  return part;
}
