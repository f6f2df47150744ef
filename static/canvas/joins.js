/** What is still to be joined, as thin straight lines on the plan; and channels that are only proposed, as ghosts. */

import { s } from "../dom.js";
import { pathData } from "../geometry/path.js";
import { toScreen, transformOf } from "../geometry/view.js";
import { openLines } from "../model/connections.js";
import { cornersOf, itemsOf, radiiOf } from "../model/document.js";

/**
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").State} State
 */

/** @param {{store: import("../types.js").Store, stage: import("../types.js").Stage, layer: SVGElement}} parts */
export function createJoins({ store, stage, layer }) {
  const open = s("g.over-open");
  const ghosts = s("g.over-proposed");
  layer.append(open, ghosts);
  let waiting = false;

  function draw() {
    const state = store.get();
    const document = state.draft ?? state.document;
    if (!document) return;
    const shown = state.layers.channels !== "hidden";
    open.replaceChildren(...(shown ? lines(state, document, stage.roots) : []));
    const { preview } = state;
    ghosts.replaceChildren(...(shown && preview && state.step === "channels" ? proposed(document, preview) : []));
    ghosts.setAttribute("transform", `${transformOf(state.view)} scale(1 -1)`);
  }

  // Once a frame is enough, and the drawing has its roots by then.
  store.watch(["document", "draft", "view", "layers", "preview", "step", "answer"], () => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      draw();
    });
  });
}

/** @param {State} state @param {PlateDocument} document @param {Map<string, import("../types.js").Point>} roots */
const lines = ({ view }, document, roots) =>
  openLines(document, roots).map(([a, b]) => {
    const [[x1, y1], [x2, y2]] = [toScreen(view, a), toScreen(view, b)];
    return s("line.open-join", { x1, y1, x2, y2 });
  });

/** Channels of a proposal that are not drawn yet. @param {PlateDocument} document @param {PlateDocument} preview */
function proposed(document, preview) {
  const drawn = new Set(itemsOf(document, "channel").map((channel) => JSON.stringify(channel)));
  return itemsOf(preview, "channel")
    .filter((channel) => !drawn.has(JSON.stringify(channel)))
    .flatMap((channel) => {
      const item = /** @type {import("../types.js").Item} */ (channel);
      const d = pathData(cornersOf(preview, item), radiiOf(item));
      return [
        s("path.proposed-bed", { d, "stroke-width": channel.width_mm }),
        s("path.proposed-line", { d, dataset: { proposed: channel.id } }),
      ];
    });
}
