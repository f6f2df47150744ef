/** The steps of the plate's history in words: any of them can be gone to, and nothing after it is lost until the next edit. */

import { h } from "../dom.js";
import { dialog } from "./dialogs.js";
import { button } from "./form.js";

/** More steps than this are not drawn: nobody reads on. */
const MOST_SHOWN = 300;

/**
 * @param {{store: import("../types.js").Store, api: import("../types.js").Api, goTo: (number: number) => Promise<unknown>}} parts
 */
export async function historyDialog({ store, api, goTo }) {
  const { plate } = store.get();
  if (!plate) return;
  const { step, steps } = await api.steps(plate.id);
  const shown = steps.toReversed().slice(0, MOST_SHOWN);
  const go = async (/** @type {number} */ number) => {
    box.close();
    await goTo(number);
  };
  const box = dialog("History", [
    h("p.quiet", {}, "The newest first. Going back keeps what came after it, until something else is changed."),
    h(
      "ol.history",
      {},
      shown.map(({ number, label }) =>
        h(
          "li",
          { "aria-current": number === step ? "step" : null },
          h("span.quiet", {}, `${number}`),
          h("span.grow", {}, label),
          number === step
            ? h("span.quiet", {}, "shown")
            : button("Go to", () => go(number), { "aria-label": `Go to step ${number}: ${label}` }),
        ),
      ),
    ),
    steps.length > shown.length ? h("p.quiet", {}, `${steps.length - shown.length} older steps are kept, too.`) : null,
  ]);
  box.querySelector('[aria-current="step"]')?.scrollIntoView({ block: "center" });
}
