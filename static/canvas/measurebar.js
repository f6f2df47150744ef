/** What has been measured on the plan, by the server's shapes, and kept as a dimension line where that is wanted. */

import { h, refill } from "../dom.js";
import { endAt, endWords } from "../model/dimensions.js";
import { outlineCentre } from "../model/document.js";
import { add } from "../model/edit.js";
import { format } from "../model/quantity.js";
import { LAYER_OF } from "../geometry/hits.js";
import { sentence } from "../server/api.js";

/**
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").State} State
 * @typedef {import("../model/dimensions.js").End} End
 * @typedef {import("../model/dimensions.js").Direction} Direction
 * @typedef {{aligned_mm: number|null, horizontal_mm: number|null, vertical_mm: number|null}} Values
 */

/** How far a new dimension line stands off what it measures, mm. */
const OFF_MM = 12;
/** On an edge, mm. */
const ON_MM = 0.02;

/** What a place that was clicked with the tool refers to. @param {State} state @param {import("../types.js").Stage} stage @param {Point} point @param {number} reach */
export const measuredEnd = ({ document, answer, layers, snap }, stage, point, reach) =>
  // What was snapped to is meant, not an edge that lies near it.
  endAt(document, point, snap?.kind && snap.kind !== "grid" && snap.point === point ? ON_MM : reach, {
    drops: (answer?.snaps ?? []).filter((snap) => snap.kind === "drop"),
    boxes: layers.hardware === "hidden" ? new Map() : stage.extents(),
    hidden: (kind) => layers[LAYER_OF[kind] ?? ""] === "hidden",
  });

/** @param {{store: import("../types.js").Store, actions: import("../types.js").Actions, api: import("../types.js").Api, root: HTMLElement}} parts */
export function createMeasureBar({ store, actions, api, root }) {
  /** @type {{ends: End[], document: object, values: Values|null, problem: string}|null} */
  let known = null;

  async function ask() {
    const { document, measureEnds: ends } = store.get();
    if (ends.length !== 2) {
      known = null;
      draw();
      return;
    }
    if (known?.ends === ends && known.document === document) return;
    const asked = { ends, document, values: /** @type {Values|null} */ (null), problem: "" };
    known = asked;
    draw();
    try {
      asked.values = await api.post("/api/measure/between", { document, first: ends[0], second: ends[1] });
    } catch (error) {
      asked.problem = sentence(error);
    }
    if (known === asked) draw();
  }

  function draw() {
    root.hidden = !known;
    if (!known) return;
    const { unit } = store.get();
    const { ends, values, problem } = known;
    /** A line of no length measures nothing. @param {Direction} direction @param {string} words @param {number|null|undefined} value */
    const keep = (direction, words, value) =>
      typeof value === "number" && Math.abs(value) < 0.005
        ? null
        : h(
            "button",
            { type: "button", "data-keep": `keep-${direction}`, disabled: value === null || value === undefined, onclick: () => kept({ store, actions }, direction) },
            `${words} ${value === null || value === undefined ? "…" : `${format(value, unit, 2)} ${unit}`}`,
          );
    refill(
      root,
      h("span", {}, `From ${endWords(ends[0])} to ${endWords(ends[1])}.`),
      problem ? h("span.problem", {}, problem) : null,
      h("span.quiet", {}, "Keep as a dimension line:"),
      h(
        "span.strip-tools",
        { role: "group", "aria-label": "Keep as a dimension line" },
        keep("aligned", "Keep", values?.aligned_mm),
        keep("horizontal", "Keep ↔", values?.horizontal_mm),
        keep("vertical", "Keep ↕", values?.vertical_mm),
      ),
    );
  }

  store.watch(["measureEnds", "document"], () => void ask());
  store.watch(["unit"], draw);
}

/** Keeps what was measured as a dimension line. @param {{store: import("../types.js").Store, actions: import("../types.js").Actions}} parts @param {Direction} direction */
function kept({ store, actions }, direction) {
  const { document, measure, measureEnds: ends } = store.get();
  if (ends.length !== 2) return;
  const [first, second] = ends;
  const offset_mm = offFrom(direction, measure[0], measure[1], outlineCentre(document.plate.outline));
  const made = add(document, "dimension", { first, second, direction, offset_mm });
  actions.commit(made.document, `Add the dimension line ${made.id}`, {
    selection: [made.id],
    measure: [],
    measureEnds: [],
    tool: null,
    snap: null,
  });
  actions.say(`The dimension line ${made.id} is kept. Drag it, or press the arrow keys, to move it off what it measures.`);
}

/** On the side that looks away from the middle of the plate. @param {Direction} direction @param {Point} a @param {Point} b @param {Point} centre */
export function offFrom(direction, a, b, centre) {
  const [mx, my] = [(a[0] + b[0]) / 2 - centre[0], (a[1] + b[1]) / 2 - centre[1]];
  if (direction === "horizontal") return my < 0 ? -OFF_MM : OFF_MM;
  if (direction === "vertical") return mx < 0 ? -OFF_MM : OFF_MM;
  return -(b[1] - a[1]) * mx + (b[0] - a[0]) * my < 0 ? -OFF_MM : OFF_MM;
}
