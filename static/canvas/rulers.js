/** Rulers along the drawing's edges, the scale bar, and the strip under the drawing. */

import { h, s } from "../dom.js";
import { format } from "../model/quantity.js";
import { stepFor, toFloor } from "../geometry/view.js";

const WIDE = 22;

/**
 * Ticks of a ruler. Pure.
 * @param {number} from mm @param {number} to mm @param {number} scale px per mm @param {import("../types.js").Unit} unit
 * @returns {{at: number, long: boolean, words: string}[]}
 */
export function ticks(from, to, scale, unit) {
  const long = stepFor(scale, 56, unit);
  const fine = unit === "in" ? long / 4 : long / (String(long).includes("2") ? 4 : 5);
  const made = [];
  for (let i = Math.ceil(from / fine - 1e-9); i * fine <= to + 1e-9 && made.length < 2000; i += 1) {
    const at = i * fine;
    const isLong = Math.abs(at / long - Math.round(at / long)) < 1e-6;
    made.push({ at, long: isLong, words: isLong ? format(at, unit, 2) : "" });
  }
  return made;
}

/** @param {{store: import("../types.js").Store, across: SVGSVGElement, up: SVGSVGElement, bar: HTMLElement, place: HTMLElement}} parts */
export function createRulers({ store, across, up, bar, place }) {
  function draw() {
    const { view, size, unit } = store.get();
    const [left, rear] = toFloor(view, [0, 0]);
    const [right, front] = toFloor(view, size);
    across.replaceChildren(
      ...ticks(left, right, view.scale, unit).flatMap(({ at, long, words }) => {
        const x = view.x + at * view.scale;
        const tick = s(`path.tick${long ? ".long" : ""}`, { d: `M${x} ${WIDE}V${long ? 8 : 16}` });
        return long ? [tick, s("text", { x: x + 3, y: 13 }, words)] : [tick];
      }),
    );
    up.replaceChildren(
      ...ticks(front, rear, view.scale, unit).flatMap(({ at, long, words }) => {
        const y = view.y - at * view.scale;
        const tick = s(`path.tick${long ? ".long" : ""}`, { d: `M${WIDE} ${y}H${long ? 8 : 16}` });
        return long ? [tick, s("text", { transform: `translate(13 ${y - 3}) rotate(-90)` }, words)] : [tick];
      }),
    );
    const step = stepFor(view.scale, 64, unit);
    bar.replaceChildren(h("span.bar-line", {}), h("span", {}, `${format(step, unit, 2)} ${unit}`));
    /** @type {HTMLElement} */ (bar.firstChild).style.width = `${step * view.scale}px`;
    pointer();
  }

  function pointer() {
    const { pointer, cursor, cursorShown, snap, unit } = store.get();
    const at = snap?.point ?? (cursorShown ? cursor : pointer);
    const words = at
      ? `${format(at[0], unit, unit === "in" ? 3 : 2)} right, ${format(at[1], unit, unit === "in" ? 3 : 2)} rear`
      : "";
    if (place.textContent !== words) place.textContent = words;
  }

  store.watch(["view", "size", "unit"], draw);
  store.watch(["pointer", "snap", "cursor", "cursorShown"], pointer);
  return { draw };
}
