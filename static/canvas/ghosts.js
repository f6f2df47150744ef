/** Ghosts of the test piece: where each port should have been. A ghost stands on its port until it is dragged. */

import { s } from "../dom.js";
import { toScreen } from "../geometry/view.js";

/** @param {{store: import("../types.js").Store, layer: SVGElement}} parts */
export function createGhosts({ store, layer }) {
  const group = s("g.over-ghosts");
  layer.append(group);

  function draw() {
    const { step, document, ghost, view } = store.get();
    if (step !== "test-piece" || !document) {
      group.replaceChildren();
      return;
    }
    const readings = new Map((document.fit_readings ?? []).map((r) => [r.port, [r.dx_mm ?? 0, r.dy_mm ?? 0]]));
    if (ghost) readings.set(ghost.port, ghost.reading);
    group.replaceChildren(...(document.ports ?? []).map((port) => one(view, port, readings.get(port.id))));
  }

  store.watch(["step", "document", "view", "ghost"], draw);
}

/** With a true minus. @param {number} mm */
const figure = (mm) => mm.toFixed(2).replace("-", "−");

/** @param {import("../types.js").View} view @param {{id: string, x_mm: number, y_mm: number}} port @param {number[]|undefined} reading */
function one(view, port, reading) {
  const [dx, dy] = reading ?? [0, 0];
  const [x0, y0] = toScreen(view, [port.x_mm, port.y_mm]);
  const [x, y] = toScreen(view, [port.x_mm + dx, port.y_mm + dy]);
  return s(
    "g.ghost",
    { class: reading ? "ghost read" : "ghost", dataset: { ghost: port.id } },
    s("title", {}, `Where ${port.id} should be`),
    s("line", { x1: x0, y1: y0, x2: x, y2: y }),
    s("circle", { cx: x, cy: y, r: 13 }),
    // Of a port that fits, the ring in its place says it.
    (dx !== 0 || dy !== 0) && s("text", { x: x + 16, y: y + 4 }, `${figure(dx)}, ${figure(dy)}`),
  );
}
