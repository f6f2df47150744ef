/** The step bar: each step says how far it is and what is missing; none is ever closed to anyone. */

import { h, refill } from "../dom.js";
import { STEPS, progressOf } from "./progress.js";

/** @param {{store: import("../types.js").Store, actions: import("../types.js").Actions, root: HTMLElement}} parts */
export function createStepBar({ store, actions, root }) {
  let drawn = "";

  function draw() {
    const { document, answer, step, revisions, old } = store.get();
    if (!document) return;
    const progress = progressOf(document, answer, revisions ?? [], old);
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
                "data-keep": `step-${name}`,
                title: missing || null,
                dataset: { step: name },
                onclick: () => actions.step(name),
              },
              h("span.station", { "aria-hidden": "true" }, done ? "✓" : String(i + 1)),
              h("span.step-words", {}, h("span.step-title", {}, title), h("span.step-state", {}, words)),
            ),
          );
        }),
      ),
    );
  }
  store.watch(["document", "answer", "step", "revisions", "old"], draw);
  return { draw };
}
