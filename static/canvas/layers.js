/** The layers of the drawing: shown, dimmed or hidden. */

import { h, refill } from "../dom.js";

/** @type {[string, string][]} */
export const LAYER_NAMES = [
  ["photo", "Photo"],
  ["floor", "Floor"],
  ["survey", "Survey"],
  ["hardware", "Boards and devices"],
  ["tubes", "Tubes"],
  ["plate", "Plate"],
  ["ports", "Ports"],
  ["channels", "Channels"],
  ["flow", "Flow"],
  ["dimensions", "Dimension lines"],
  ["cutouts", "Cutouts"],
  ["pockets", "Pockets"],
  ["holes", "Holes"],
  ["keep-outs", "Keep-outs"],
  ["seal", "Seal"],
  ["findings", "Findings"],
];

/** What the drawing's colours and hatches mean. @type {[string, string][]} */
const LEGEND = [
  ["wet", "Wet: filled"],
  ["dry", "Dry: hatched"],
  ["forbidden", "Forbidden: hatched across"],
  ["uncertain", "Uncertain: dashed"],
];

/** @typedef {import("../types.js").LayerState} LayerState */

/** @type {LayerState[]} */
const STATES = ["shown", "dimmed", "hidden"];

/** @param {import("../types.js").Store} store @param {string} name @param {string} words */
function layerRow(store, name, words) {
  const { layers } = store.get();
  return h(
    "div.layer-row",
    {},
    h("span", { id: `layer-${name}` }, words),
    h(
      "select",
      {
        "aria-labelledby": `layer-${name}`,
        "data-keep": `layer-${name}`,
        onchange: (e) =>
          store.set({ layers: { ...store.get().layers, [name]: /** @type {LayerState} */ (e.currentTarget.value) } }),
      },
      STATES.map((state) => h("option", { value: state, selected: (layers[name] ?? "shown") === state }, state)),
    ),
  );
}

/** @param {{store: import("../types.js").Store, button: HTMLElement, panel: HTMLElement}} parts */
export function createLayers({ store, button, panel }) {
  function draw() {
    refill(
      panel,
      h("h3", {}, "Layers"),
      h("div.layer-rows", {}, LAYER_NAMES.map(([name, words]) => layerRow(store, name, words))),
      h("h3", {}, "Signs"),
      h(
        "ul.legend",
        {},
        LEGEND.map(([name, words]) => h("li", {}, h(`span.swatch.${name}`, { "aria-hidden": "true" }), words)),
      ),
    );
  }
  button.addEventListener("click", () => {
    panel.hidden = !panel.hidden;
    button.setAttribute("aria-expanded", String(!panel.hidden));
    if (!panel.hidden) draw();
  });
  panel.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    event.stopPropagation();
    panel.hidden = true;
    button.setAttribute("aria-expanded", "false");
    button.focus();
  });
  store.watch(["layers"], () => {
    if (!panel.hidden) draw();
  });
  return { draw };
}
