/**
 * Ghosts of the test piece: where each port should have been, to be dragged there. A ghost stands on its port until it
 * is moved; letting go writes the fit reading.
 */

import { s } from "../dom.js";
import { withReading } from "../steps/trial.js";
import { toFloor, toScreen } from "../geometry/view.js";

/** A reading as a hand can tell it: to a tenth of a millimetre. @param {number} dx @param {number} dy @returns {[number, number]} */
export const snappedReading = (dx, dy) => [Math.round(dx * 10) / 10 + 0, Math.round(dy * 10) / 10 + 0];

/** @param {{store: any, actions: any, layer: SVGGElement, svg: SVGSVGElement}} parts */
export function createGhosts({ store, actions, layer, svg }) {
  const group = s("g.over-ghosts");
  layer.append(group);
  /** @type {{port: any, reading: [number, number]}|null} */
  let held = null;

  function draw() {
    const { step, document, view } = store.get();
    if (step !== "test-piece" || !document) {
      group.replaceChildren();
      return;
    }
    const readings = new Map(
      (document.fit_readings ?? []).map((/** @type {any} */ r) => [r.port, [r.dx_mm ?? 0, r.dy_mm ?? 0]]),
    );
    group.replaceChildren(
      ...(document.ports ?? []).map((/** @type {any} */ port) => {
        const [dx, dy] = held && held.port.id === port.id ? held.reading : (readings.get(port.id) ?? [0, 0]);
        const read = readings.has(port.id) || held?.port.id === port.id;
        const [x0, y0] = toScreen(view, [port.x_mm, port.y_mm]);
        const [x, y] = toScreen(view, [port.x_mm + dx, port.y_mm + dy]);
        const words = read ? `${dx.toFixed(2)}, ${dy.toFixed(2)}` : "";
        return s(
          "g.ghost",
          { class: read ? "ghost read" : "ghost", dataset: { ghost: port.id } },
          s("title", {}, `Where ${port.id} should be`),
          s("line", { x1: x0, y1: y0, x2: x, y2: y }),
          s("circle", { cx: x, cy: y, r: 13 }),
          words && s("text", { x: x + 16, y: y + 4 }, words),
        );
      }),
    );
  }

  /** @param {PointerEvent} event @returns {import("../types.js").Point} */
  function floor(event) {
    const box = svg.getBoundingClientRect();
    return toFloor(store.get().view, [event.clientX - box.left, event.clientY - box.top]);
  }

  group.addEventListener("pointerdown", (/** @type {PointerEvent} */ event) => {
    const ghost = /** @type {Element} */ (event.target).closest("[data-ghost]");
    if (!ghost || event.button !== 0) return;
    event.stopPropagation();
    event.preventDefault();
    const { document } = store.get();
    const port = document.ports.find((/** @type {any} */ p) => p.id === /** @type {any} */ (ghost).dataset.ghost);
    const old = (document.fit_readings ?? []).find((/** @type {any} */ r) => r.port === port.id);
    const from = floor(event);
    const start = [old?.dx_mm ?? 0, old?.dy_mm ?? 0];
    /** @param {PointerEvent} move */
    const drag = (move) => {
      const [x, y] = floor(move);
      held = { port, reading: snappedReading(start[0] + x - from[0], start[1] + y - from[1]) };
      draw();
    };
    const drop = () => {
      window.removeEventListener("pointermove", drag);
      window.removeEventListener("pointerup", drop);
      window.removeEventListener("pointercancel", cancel);
      const reading = held?.reading ?? [start[0], start[1]];
      held = null;
      actions.edit(`Fit reading of ${port.id}`, (/** @type {any} */ d) =>
        withReading(d, port.id, { dx_mm: reading[0], dy_mm: reading[1] }),
      );
      draw();
    };
    const cancel = () => {
      window.removeEventListener("pointermove", drag);
      window.removeEventListener("pointerup", drop);
      held = null;
      draw();
    };
    window.addEventListener("pointermove", drag);
    window.addEventListener("pointerup", drop);
    window.addEventListener("pointercancel", cancel, { once: true });
  });

  store.watch(["step", "document", "view"], draw);
}
