/** What the page remembers from one visit to the next, and the state that it begins with. */

import { makeView } from "./geometry/view.js";
import { LAYER_NAMES } from "./canvas/layers.js";

/** @typedef {import("./types.js").State} State */

/** Parts of the state that are remembered. @type {("theme"|"unit"|"layers"|"step"|"margin"|"rerouting")[]} */
const REMEMBERED = ["theme", "unit", "layers", "step", "margin", "rerouting"];

/** @template T @param {string} key @param {T} usual @returns {T} */
function remembered(key, usual) {
  try {
    return JSON.parse(localStorage.getItem(key) ?? "null") ?? usual;
  } catch {
    return usual;
  }
}

/** Writes down what changes. @param {import("./types.js").Store} store */
export function remember(store) {
  store.watch(REMEMBERED, (now) => {
    for (const key of REMEMBERED) {
      try {
        localStorage.setItem(key, JSON.stringify(now[key]));
      } catch {
        // A full storage loses a setting, never work.
      }
    }
  });
}

/** @type {Record<string, import("./types.js").LayerState>} */
const LAYERS = Object.fromEntries(LAYER_NAMES.map(([name]) => [name, name === "seal" ? "dimmed" : "shown"]));

/** What belongs to one plate, and goes when another is opened. */
export const fresh = () => ({
  draft: null,
  selection: [],
  spot: null,
  tool: null,
  course: [],
  measure: [],
  measureEnds: [],
  marquee: null,
  turning: null,
  sectionLine: null,
  section: null,
  ghost: null,
  preview: null,
  reading: null,
  finding: null,
  answer: null,
  revisions: [],
});

/** @returns {State} */
export const firstState = () => ({
  ...fresh(),
  plate: null,
  // any: only until a plate is open, and whoever reads the document before that looks whether it is there.
  document: /** @type {any} */ (null),
  view: makeView(1, 0, 400),
  size: [800, 600],
  snap: null,
  snapping: true,
  rerouting: remembered("rerouting", false),
  pointer: null,
  cursor: null,
  cursorShown: false,
  hover: null,
  step: remembered("step", "lay-out"),
  reference: null,
  photoPlace: null,
  tab: "items",
  margin: remembered("margin", /** @type {const} */ ("auto")),
  layers: remembered("layers", LAYERS),
  heights: false,
  elevations: false,
  ellipseScale: 1,
  sure: null,
  surveyEdits: 0,
  unit: remembered("unit", /** @type {const} */ ("mm")),
  theme: remembered("theme", /** @type {const} */ ("auto")),
  link: "saved",
  old: "",
  trying: false,
});
