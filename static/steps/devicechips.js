/** The order of the devices as a row of chips: each is dragged, by pointer or finger, or moved with the arrow keys. */

import { h } from "../dom.js";

/** Keys that move a chip towards the front, and towards the end. @type {Record<string, number>} */
const STEPS = { ArrowLeft: -1, ArrowUp: -1, ArrowRight: 1, ArrowDown: 1 };

/**
 * @param {string[]} ids the devices, in order
 * @param {(ids: string[]) => void} changed told of every new order
 */
export function deviceChips(ids, changed) {
  /** The chip that is dragged. @type {Element|null} */
  let dragged = null;
  const list = h("ol.chips", {
    "aria-label": "Devices, to drag",
    onpointerdown: (/** @type {PointerEvent} */ event) => {
      const item = event.target instanceof Element ? event.target.closest("li") : null;
      if (!item || event.button !== 0) return;
      // The list holds the pointer: a chip would lose it where it is put elsewhere in the list.
      list.setPointerCapture(event.pointerId);
      dragged = item;
      item.classList.add("dragged");
    },
    onpointermove: (/** @type {PointerEvent} */ event) => {
      const under = dragged && document.elementFromPoint(event.clientX, event.clientY)?.closest("li");
      if (!dragged || !under || under === dragged || under.parentElement !== list) return;
      const { left, width } = under.getBoundingClientRect();
      if (event.clientX < left + width / 2) under.before(dragged);
      else under.after(dragged);
    },
    onlostpointercapture: () => {
      if (!dragged) return;
      dragged.classList.remove("dragged");
      dragged.querySelector("button")?.focus();
      dragged = null;
      told();
    },
    onkeydown: (/** @type {KeyboardEvent} */ event) => {
      const step = STEPS[event.key];
      const item = event.target instanceof Element ? event.target.closest("li") : null;
      if (!item || !step || event.altKey || event.ctrlKey || event.metaKey) return;
      event.preventDefault();
      const beside = step < 0 ? item.previousElementSibling : item.nextElementSibling;
      if (!beside) return;
      if (step < 0) beside.before(item);
      else beside.after(item);
      item.querySelector("button")?.focus();
      told();
    },
  });
  const names = () => [...list.children].map((item) => item.textContent ?? "");
  const labelled = () =>
    [...list.children].forEach((item, index) =>
      item.firstElementChild?.setAttribute(
        "aria-label",
        `${item.textContent}, place ${index + 1} of ${list.children.length}. Arrow keys move it.`,
      ),
    );
  const told = () => {
    labelled();
    changed(names());
  };
  list.append(...ids.map((id) => h("li", {}, h("button", { type: "button", "data-keep": `chip-${id}` }, id))));
  labelled();
  return list;
}
