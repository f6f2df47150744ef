/**
 * How sure, on the plan: where each tube lands in 95 of 100 builds, against the circle it may land in; and the survey
 * points that a selected item is tied to.
 */

import { s } from "../dom.js";
import { centreOf, rootOf } from "../model/document.js";
import { tieOf } from "../model/ties.js";
import { toScreen } from "../geometry/view.js";

/**
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").State} State
 * @typedef {import("../types.js").SurenessAnswer["tubes"][0]} Tube
 */

/** Steps in which the chances are asked for. */
const STEPS = ["test-piece", "hand-off"];

/** @param {{store: import("../types.js").Store, stage: import("../types.js").Stage, layer: SVGElement}} parts */
export function createLandings({ store, stage, layer }) {
  const landings = s("g.over-landings");
  const ties = s("g.over-ties");
  layer.append(landings, ties);
  let waiting = false;

  function draw() {
    const state = store.get();
    const document = state.draft ?? state.document;
    if (!document) return;
    landings.replaceChildren(...drawLandings(state));
    ties.replaceChildren(...drawTies(state, document, stage.roots));
  }

  store.watch(["document", "draft", "view", "layers", "step", "answer", "sure", "selection"], () => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      draw();
    });
  });
}

/** Allowed circles and ellipses; only for the document that they were worked out for. @param {State} state */
function drawLandings({ sure, document, draft, step, layers, view }) {
  if (!sure || draft || sure.document !== document || !STEPS.includes(step) || layers.ports === "hidden") return [];
  return sure.tubes.map((tube) => landing(tube, (point) => toScreen(view, point), view.scale));
}

/** @param {Tube} tube @param {(p: Point) => Point} at @param {number} scale px for a mm */
function landing({ port, chance, at_mm, offset_mm, allowed_mm, ellipse }, at, scale) {
  const [x, y] = at([at_mm[0], at_mm[1]]);
  const [u, v] = at([at_mm[0] + offset_mm[0], at_mm[1] + offset_mm[1]]);
  const share = `${(100 * Math.min(chance, 0.999)).toFixed(1)} %`;
  return s(
    "g.landing",
    { class: chance < 0.95 ? "landing unsure" : "landing", dataset: { landing: port } },
    s(
      "title",
      {},
      `${port} lands with a chance of ${share}: within ${allowed_mm.toFixed(2)} mm (circle); 95 of 100 land in the ellipse`,
    ),
    s("circle.landing-allowed", { cx: x, cy: y, r: allowed_mm * scale }),
    s("ellipse.landing-spread", {
      rx: ellipse.semi_major_mm * scale,
      ry: ellipse.semi_minor_mm * scale,
      // The drawing's y points up, the screen's down.
      transform: `translate(${u} ${v}) rotate(${-ellipse.turn_deg})`,
    }),
  );
}

/** Thin lines from what is selected to the points it is tied to. @param {State} state @param {import("../types.js").PlateDocument} document @param {Map<string, Point>} [roots] */
function drawTies({ selection, answer, layers, view }, document, roots) {
  if (layers.survey === "hidden") return [];
  const points = new Map((answer?.survey?.points ?? []).map((point) => [point.id, point]));
  return selection.flatMap((id) => {
    const from = centreOf(document, id) ?? rootOf(document, id, roots);
    const names = tieOf(document, id)?.points ?? [];
    if (!from) return [];
    return names.flatMap((name) => {
      const point = points.get(name);
      if (!point || point.x_mm === null || point.y_mm === null) return [];
      const [[x1, y1], [x2, y2]] = [toScreen(view, from), toScreen(view, [point.x_mm, point.y_mm])];
      return [
        s("line.tie", { x1, y1, x2, y2, dataset: { tie: `${id}-${name}` } }),
        s("circle.tie-end", { cx: x2, cy: y2, r: 4 }),
      ];
    });
  });
}
