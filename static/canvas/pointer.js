/**
 * What the pointer does on the drawing: mouse, pen and fingers alike. A press chooses a mode; the mode is switched on
 * when the pointer has left its place, told of every move, and switched off at the end.
 */

import { find, isWhole, outlineOf } from "../model/document.js";
import { itemsAt } from "../geometry/hits.js";
import { edgeAt, nearOutline, outlinePoints } from "../geometry/outline.js";
import { toFloor } from "../geometry/view.js";
import { dragDimension } from "./modes/dimension.js";
import { dragItems } from "./modes/drag.js";
import { dragGhost } from "./modes/ghost.js";
import { dragHandle } from "./modes/handle.js";
import { marquee } from "./modes/marquee.js";
import { dragEdge } from "./modes/outline.js";
import { showFinding } from "./modes/finding.js";
import { pan, pinch, wheel } from "./modes/pan.js";
import { useTool } from "./modes/tool.js";
import { createSnapper } from "./snapper.js";
import { meantBy } from "./touch.js";

/**
 * @typedef {import("../types.js").Point} Point
 * @typedef {{at: Point, floor: Point, reach: number, free: boolean, adding: boolean, touch: boolean}} Hand
 *   Where the pointer is (px and mm), how near counts as on it (mm), and what is held: Alt frees it from snapping,
 *   Shift adds to what is selected.
 * @typedef {{
 *   view?: boolean, on?: () => Mode|void, move?: (hand: Hand) => void, drop?: (hand: Hand) => void,
 *   tap?: (hand: Hand) => void, off?: () => void,
 * }} Mode
 *   `view`: it moves nothing but the view; `on`: the pointer has begun to move (another mode may take over); `drop`: let go after a move; `tap`: let go in
 *   place; `off`: it is over, however it ended.
 * @typedef {{store: import("../types.js").Store, actions: import("../types.js").Actions, stage: import("../types.js").Stage,
 *   tools: import("./tools.js").Tools, snapper: import("./snapper.js").Snapper,
 *   rerouter: ReturnType<typeof import("../server/rerouting.js").createRerouter>}} Parts
 */

/** How near counts as on it, px: a finger is broader than a mouse. @type {Record<string, number>} */
const REACH = { mouse: 8, pen: 10, touch: 18 };
/** A press that moves less than this is a click, px. @type {Record<string, number>} */
const STILL = { mouse: 3, pen: 5, touch: 9 };

/** @param {Omit<Parts, "snapper"> & {svg: SVGSVGElement}} given */
export function createPointer({ svg, ...given }) {
  // Long, because what is pressed and which fingers are down is state that all of its listeners share.
  const { store, actions, tools } = given;
  const snapper = createSnapper(store);
  /** @type {Parts} */
  const parts = { ...given, snapper };
  const places = createPlaces(svg);
  /** `of`: the document that it began on. @type {{mode: Mode, start: Point, moved: boolean, still: number, of: object}|null} */
  let press = null;
  /** @type {Map<number, Point>} */
  const fingers = new Map();

  /** @param {PointerEvent} event @returns {Hand} */
  function handOf(event) {
    const at = places.here(event);
    const { view } = store.get();
    const reach = (REACH[event.pointerType] ?? REACH.mouse) / view.scale;
    const touch = event.pointerType === "touch";
    return { at, floor: toFloor(view, at), reach, free: event.altKey, adding: event.shiftKey, touch };
  }

  /** @param {PointerEvent} event */
  function down(event) {
    // What is held is not let go for a second finger; a view that one finger moves is pinched by two.
    if (event.button > 1 || (press?.moved && !press.mode.view) || fingers.size > 1) return;
    svg.focus({ preventScroll: true });
    const hand = handOf(event);
    const of = store.get().document;
    fingers.set(event.pointerId, hand.at);
    svg.setPointerCapture(event.pointerId);
    store.set({ cursorShown: false });
    if (fingers.size === 2) {
      press?.mode.off?.();
      actions.dropDraft();
      press = { mode: pinch(parts, fingers), start: hand.at, moved: true, still: 0, of };
      return;
    }
    const mode = event.button === 1 ? pan(parts, hand) : modeFor(parts, meantBy(parts, svg, event.target, hand), hand);
    press = { mode, start: hand.at, moved: false, still: STILL[event.pointerType] ?? STILL.mouse, of };
  }

  /** @param {PointerEvent} event */
  function move(event) {
    const hand = handOf(event);
    if (!press) return hover(parts, svg, hand);
    // Another pointer than the one that holds something only hovers: what is held does not jump to it.
    if (!fingers.has(event.pointerId)) return;
    // Let go where nobody saw it: in another window, over a dialog of the system.
    if (event.buttons === 0) return up(event);
    fingers.set(event.pointerId, hand.at);
    if (!press.moved) {
      if (Math.hypot(hand.at[0] - press.start[0], hand.at[1] - press.start[1]) < press.still) return;
      press.moved = true;
      press.mode = press.mode.on?.() ?? press.mode;
      svg.classList.add("dragging");
    }
    store.set({ pointer: hand.floor });
    press.mode.move?.(hand);
  }

  /** @param {PointerEvent} event */
  function up(event) {
    const done = press;
    if (!fingers.delete(event.pointerId) || !done) return;
    // The finger that a pinch leaves on the drawing moves the view on.
    if (fingers.size) {
      const [at] = fingers.values();
      press = { ...done, mode: pan(parts, { ...handOf(event), at }), start: at };
      return;
    }
    press = null;
    svg.classList.remove("dragging");
    const hand = handOf(event);
    if (done.moved) done.mode.drop?.(hand);
    else done.mode.tap?.(hand);
    done.mode.off?.();
  }

  /** Gives up what the pointer is doing. @returns {boolean} whether there was anything */
  function cancel() {
    if (!press) return false;
    const { mode } = press;
    press = null;
    fingers.clear();
    svg.classList.remove("dragging");
    mode.off?.();
    store.set({ snap: null });
    actions.dropDraft();
    return true;
  }

  svg.addEventListener("pointerdown", down);
  svg.addEventListener("pointermove", move);
  svg.addEventListener("pointerup", up);
  svg.addEventListener("pointercancel", cancel);
  // A capture that ends without a word of the hand is as good as cancelled.
  svg.addEventListener("lostpointercapture", (event) => {
    if (fingers.has(event.pointerId)) cancel();
  });
  // Undone, locked, or changed in another window meanwhile: what is dragged was another document.
  store.watch(["document"], ({ document }) => {
    if (press?.moved && press.of !== document) {
      cancel();
      actions.say("The plate has changed meanwhile: what was dragged is let go.");
    }
  });
  svg.addEventListener("pointerleave", () => {
    if (!press) store.set({ pointer: null, hover: null, snap: null });
  });
  svg.addEventListener("wheel", (event) => wheel(store, event, places.here(event)), { passive: false });
  svg.addEventListener("dblclick", () => tools.finish());
  return {
    cancel,
    /** The hand has done something else in place: lifted there, it is no tap any more. */
    rests() {
      if (press && !press.moved) press.mode = { ...press.mode, tap: undefined };
    },
  };
}

/** Where events are on the drawing, whose place on the page is asked for when it may have changed, not at every move. @param {SVGSVGElement} svg */
function createPlaces(svg) {
  /** @type {DOMRect|null} */
  let box = null;
  const forget = () => {
    box = null;
  };
  for (const name of ["pointerenter", "pointerdown"]) svg.addEventListener(name, forget, { capture: true });
  window.addEventListener("resize", forget);
  return {
    /** @param {MouseEvent} event @returns {Point} px */
    here(event) {
      box ??= svg.getBoundingClientRect();
      return [event.clientX - box.left, event.clientY - box.top];
    },
  };
}

/** What a press begins, by what lies under it. @param {Parts} parts @param {EventTarget|null} target @param {Hand} hand @returns {Mode} */
function modeFor(parts, target, hand) {
  const { store, stage, snapper } = parts;
  const { tool, document, answer } = store.get();
  const under = (/** @type {string} */ selector) =>
    target instanceof Element ? /** @type {SVGElement|null} */ (target.closest(selector)) : null;
  if (tool) return useTool(parts, hand);
  const ghost = under("[data-ghost]");
  if (ghost) return dragGhost(parts, ghost.dataset.ghost ?? "", hand);
  const handle = under("[data-handle]");
  if (handle) return dragHandle(parts, handle.dataset, hand);
  const edge = edgeUnder(store.get(), hand);
  if (edge && !hand.adding) return dragEdge(parts, edge.id, edge.index, hand);
  const ids = itemsAt(document, hand.floor, hand.reach, snapper.hidden(), stage.roots);
  const { id: drawn, kind } = under("g.item[data-id]")?.dataset ?? {};
  if (drawn && kind === "dimension") return dragDimension(parts, drawn, hand);
  if (drawn && kind === "tube" && find(document, drawn)) ids.push(drawn);
  // The tube that drops to a port selects it; dragged it stays, for the port stands elsewhere.
  else if (!ids.length && drawn && kind === "drop") return hand.adding ? marquee(parts, hand) : pan(parts, hand, drawn);
  else if (!ids.length && drawn && find(document, drawn)) ids.push(drawn);
  const mark = under("[data-finding]");
  if (mark) {
    const placed = (answer?.findings ?? []).filter((f) => f.at && !f.accepted);
    const here = (mark.dataset.finding ?? "").split(" ").map((index) => placed[Number(index)]).filter(Boolean);
    const finding = here[(here.findIndex((one) => one === store.get().finding) + 1) % Math.max(here.length, 1)];
    const beneath = () => (ids.length ? dragItems(parts, ids, hand) : pan(parts, hand));
    return finding ? showFinding(parts, finding, beneath) : beneath();
  }
  if (ids.length) return dragItems(parts, ids, hand);
  return hand.adding ? marquee(parts, hand) : pan(parts, hand, wholeUnder(document, hand, snapper.hidden()));
}

/** An outline smaller than so many reaches is moved as a whole, wherever it is taken hold of. */
const ROOM_FOR_EDGES = 7;

/** The edge of the selected outline that is right under the hand. @param {import("../types.js").State} state @param {Hand} hand @returns {{id: string, index: number}|null} */
function edgeUnder({ selection, document }, hand) {
  const [id] = selection;
  const outline = selection.length === 1 && !find(document, id)?.item.locked ? outlineOf(document, id) : null;
  if (!outline) return null;
  const edge = edgeAt(outline, hand.floor, hand.reach * 0.75);
  if (!edge) return null;
  const [xs, ys] = [0, 1].map((axis) => outlinePoints(outline).map((p) => p[axis]));
  const small = Math.min(Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys));
  return isWhole(document, id) || small > ROOM_FOR_EDGES * hand.reach ? { id, index: edge.index } : null;
}

/** The plate, or the floor, when its edge is under the hand. @param {import("../types.js").PlateDocument} document @param {Hand} hand @param {Set<string>} hidden layers */
const wholeUnder = (document, hand, hidden) =>
  ["plate", "floor"].find((id) => {
    const outline = isWhole(document, id) && !hidden.has(id) ? outlineOf(document, id) : null;
    return outline && nearOutline(outline, hand.floor, hand.reach);
  }) ?? null;

/** The pointer moves with nothing pressed. @param {Parts} parts @param {SVGSVGElement} svg @param {Hand} hand */
function hover({ store, stage, snapper }, svg, hand) {
  const state = store.get();
  if (state.tool) {
    const from = snapper.lastPlace();
    store.set({ pointer: hand.floor, snap: snapper.snapped(hand.floor, { reach: hand.reach, from, free: hand.free }) });
    return;
  }
  const [id] = itemsAt(state.document, hand.floor, hand.reach, snapper.hidden(), stage.roots);
  store.set({ pointer: hand.floor, hover: id ?? null, snap: null });
  svg.classList.toggle("over-item", Boolean(id));
  svg.classList.toggle("over-edge", Boolean(state.selection.length === 1 && edgeUnder(state, hand)));
}
