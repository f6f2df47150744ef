/** What only fingers need: a handle is taken hold of from nearby, and a press that rests opens the menu. */

import { itemsAt } from "../geometry/hits.js";
import { distance } from "../geometry/path.js";
import { toScreen } from "../geometry/view.js";
import { centreOf } from "../model/document.js";

/**
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("./pointer.js").Hand} Hand
 * @typedef {import("./pointer.js").Parts} Parts
 */

/** A finger this near to a handle's middle means the handle, px: common practice, no source. */
const FINGER = 24;
/** A finger that rests so long asks for the menu, ms. */
const RESTS = 550;
/** A click so soon after the finger was lifted is its own, ms: common practice, no source. */
const LIFT = 400;
/** A finger that moves less than this rests, px. */
const STILL = 9;

/**
 * What a finger means to take hold of: the nearest handle within its breadth, unless it is right on another item, or nearer
 * to the middle of what is selected, which is then moved.
 * @param {Parts} parts @param {SVGSVGElement} svg @param {EventTarget|null} target @param {Hand} hand @returns {EventTarget|null}
 */
export function meantBy({ store, snapper, stage }, svg, target, hand) {
  if (!hand.touch) return target;
  const box = svg.getBoundingClientRect();
  const [nearest] = [...svg.querySelectorAll("[data-handle] > .target, [data-ghost] > circle")]
    .map((element) => {
      const { left, top, width, height } = element.getBoundingClientRect();
      const away = distance(hand.at, [left - box.left + width / 2, top - box.top + height / 2]);
      return { element, away };
    })
    .sort((a, b) => a.away - b.away);
  if (!nearest || nearest.away > FINGER) return target;
  if (target instanceof Element && target.closest("[data-handle], [data-ghost]")) return nearest.element;
  const { document, selection, view } = store.get();
  const [under] = itemsAt(document, hand.floor, 0, snapper.hidden(), stage.roots);
  if (under && !selection.includes(under)) return target;
  const middle = under ? centreOf(document, under) : null;
  return middle && distance(toScreen(view, middle), hand.at) < nearest.away ? target : nearest.element;
}

/**
 * The menu by a finger that rests. Browsers differ in whether they say so themselves, and one that does is not asked twice.
 * @param {{svg: SVGSVGElement, selected: () => string[], open: (place: {clientX: number, clientY: number, target: EventTarget|null}, before: string[]) => boolean, close: () => void, rests: () => void}} parts
 *   selected: asked before the press selects what lies under it; open: tells whether there is a menu now; rests: lifted in place, the press is no tap any more
 */
export function createHold({ svg, selected, open, close, rests }) {
  let timer = 0;
  let opened = false;
  /** @type {{at: Point, time: number}|null} */
  let lift = null;
  /** @type {Map<number, Point>} */
  const down = new Map();

  /** @param {PointerEvent} event */
  function pressed(event) {
    clearTimeout(timer);
    opened = false;
    if (event.pointerType !== "touch") return;
    down.set(event.pointerId, [event.clientX, event.clientY]);
    const { clientX, clientY, target } = event;
    const before = selected();
    if (down.size > 1) return;
    timer = window.setTimeout(() => {
      opened = open({ clientX, clientY, target }, before);
      if (opened) rests();
    }, RESTS);
  }

  /** @param {PointerEvent} event */
  function moved(event) {
    const from = down.get(event.pointerId);
    if (!from || distance(from, [event.clientX, event.clientY]) < STILL) return;
    clearTimeout(timer);
    // Who moves on drags after all.
    if (opened) close();
    opened = false;
  }

  /** @param {PointerEvent} event */
  function lifted(event) {
    if (opened && down.has(event.pointerId)) lift = { at: [event.clientX, event.clientY], time: performance.now() };
    down.delete(event.pointerId);
    clearTimeout(timer);
  }

  svg.addEventListener("pointerdown", pressed, { capture: true });
  svg.addEventListener("pointermove", moved);
  for (const name of /** @type {const} */ (["pointerup", "pointercancel", "lostpointercapture"])) svg.addEventListener(name, lifted);
  return {
    /** Whether a click is only the finger that opened the menu, being lifted: some browsers make one of that, on what lies there. @param {MouseEvent} click */
    lifting: ({ clientX, clientY }) => lift !== null && performance.now() - lift.time < LIFT && distance(lift.at, [clientX, clientY]) < STILL,
    /** Whether a finger is on the drawing: what the browser calls a right click is its long press. */
    get pressing() {
      return down.size > 0;
    },
  };
}
