/**
 * What the pointer does on the drawing: mouse, pen and fingers alike. A press chooses a mode; the mode is switched on
 * when the pointer has left its place, told of every move, and switched off at the end.
 */

import { isLed } from "../model/cableslots.js";
import { find, isWhole, outlineOf } from "../model/document.js";
import { itemsAt } from "../geometry/hits.js";
import { edgeAt, nearOutline, outlinePoints } from "../geometry/outline.js";
import { distance } from "../geometry/path.js";
import { toFloor } from "../geometry/view.js";
import { dragDimension } from "./modes/dimension.js";
import { dragItems } from "./modes/drag.js";
import { dragGhost } from "./modes/ghost.js";
import { dragHandle } from "./modes/handle.js";
import { marquee } from "./modes/marquee.js";
import { dragEdge } from "./modes/outlinepull.js";
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
 *   `view`: it moves nothing but the view; `on`: the pointer has begun to move (another mode may take over); `drop`:
 *   let go after a move; `tap`: let go in place; `off`: it is over, however it ended.
 * @typedef {{store: import("../types.js").Store, actions: import("../types.js").Actions, stage: import("../types.js").Stage,
 *   tools: import("./tools.js").Tools, snapper: import("./snapper.js").Snapper,
 *   rerouter: import("../server/rerouting.js").Rerouter}} Parts
 */

/** How near counts as on it, px: a finger is broader than a mouse. @type {Record<string, number>} */
const REACH = { mouse: 8, pen: 10, touch: 18 };
/** A press that moves less than this is a click, px. @type {Record<string, number>} */
const STILL = { mouse: 3, pen: 5, touch: 9 };

/** @param {Omit<Parts, "snapper"> & {svg: SVGSVGElement}} given */
export function createPointer({ svg, ...given }) {
  const { store, actions, tools } = given;
  /** @type {Parts} */
  const parts = { ...given, snapper: createSnapper(store) };
  const places = createPlaces(svg);

  /** @param {PointerEvent} event @returns {Hand} */
  function handOf(event) {
    const at = places.here(event);
    const { view } = store.get();
    const reach = (REACH[event.pointerType] ?? REACH.mouse) / view.scale;
    const touch = event.pointerType === "touch";
    return { at, floor: toFloor(view, at), reach, free: event.altKey, adding: event.shiftKey, touch };
  }

  const press = new Press(parts, svg, handOf);
  svg.addEventListener("pointerdown", (event) => press.down(event));
  svg.addEventListener("pointermove", (event) => (press.active ? press.move(event) : hover(parts, svg, handOf(event))));
  svg.addEventListener("pointerup", (event) => press.up(event));
  svg.addEventListener("pointercancel", () => press.cancel());
  // A capture that ends without a word of the hand is as good as cancelled.
  svg.addEventListener("lostpointercapture", (event) => {
    if (press.holds(event.pointerId)) press.cancel();
  });
  // Undone, locked, or changed in another window meanwhile: what is dragged was another document.
  store.watch(["document"], ({ document }) => {
    if (press.of === null || press.of === document) return;
    press.cancel();
    actions.say("The plate has changed meanwhile: what was dragged is let go.");
  });
  svg.addEventListener("pointerleave", () => {
    if (!press.active) store.set({ pointer: null, hover: null, snap: null });
  });
  svg.addEventListener("wheel", (event) => wheel(store, event, places.here(event)), { passive: false });
  svg.addEventListener("dblclick", () => tools.finish());
  return { cancel: () => press.cancel(), rests: () => press.rests() };
}

/** What is pressed, and which fingers are down: the life of a mode from the press until all is let go. */
class Press {
  /** `of`: the document that it began on. @type {{mode: Mode, start: Point, moved: boolean, still: number, of: object}|null} */
  #now = null;
  /** @type {Map<number, Point>} */
  #fingers = new Map();

  /** @param {Parts} parts @param {SVGSVGElement} svg @param {(event: PointerEvent) => Hand} handOf */
  constructor(parts, svg, handOf) {
    this.parts = parts;
    this.svg = svg;
    this.handOf = handOf;
  }

  get active() {
    return this.#now !== null;
  }

  /** The document that is being dragged in; null while nothing has moved. */
  get of() {
    return this.#now?.moved ? this.#now.of : null;
  }

  /** @param {number} pointer */
  holds(pointer) {
    return this.#fingers.has(pointer);
  }

  /** @param {PointerEvent} event */
  down(event) {
    // What is held is not let go for a second finger; a view that one finger moves is pinched by two.
    if (event.button > 1 || (this.#now?.moved && !this.#now.mode.view) || this.#fingers.size > 1) return;
    const { store, actions } = this.parts;
    this.svg.focus({ preventScroll: true });
    const hand = this.handOf(event);
    const of = store.get().document;
    this.#fingers.set(event.pointerId, hand.at);
    this.svg.setPointerCapture(event.pointerId);
    store.set({ cursorShown: false });
    if (this.#fingers.size === 2) {
      this.#now?.mode.off?.();
      actions.dropDraft();
      this.#now = { mode: pinch(this.parts, this.#fingers), start: hand.at, moved: true, still: 0, of };
      return;
    }
    const mode = event.button === 1 ? pan(this.parts, hand) : modeFor(this.parts, this.#meant(event, hand), hand);
    this.#now = { mode, start: hand.at, moved: false, still: STILL[event.pointerType] ?? STILL.mouse, of };
  }

  /** @param {PointerEvent} event */
  move(event) {
    const now = this.#now;
    // Another pointer than the one that holds something only hovers: what is held does not jump to it.
    if (!now || !this.#fingers.has(event.pointerId)) return;
    // Let go where nobody saw it: in another window, over a dialog of the system.
    if (event.buttons === 0) return this.up(event);
    const hand = this.handOf(event);
    this.#fingers.set(event.pointerId, hand.at);
    if (!now.moved) {
      if (distance(hand.at, now.start) < now.still) return;
      now.moved = true;
      now.mode = now.mode.on?.() ?? now.mode;
      this.svg.classList.add("dragging");
    }
    this.parts.store.set({ pointer: hand.floor });
    now.mode.move?.(hand);
  }

  /** @param {PointerEvent} event */
  up(event) {
    const done = this.#now;
    if (!this.#fingers.delete(event.pointerId) || !done) return;
    // The finger that a pinch leaves on the drawing moves the view on.
    if (this.#fingers.size) {
      const [at] = this.#fingers.values();
      this.#now = { ...done, mode: pan(this.parts, { ...this.handOf(event), at }), start: at };
      return;
    }
    this.#ended();
    const hand = this.handOf(event);
    if (done.moved) done.mode.drop?.(hand);
    else done.mode.tap?.(hand);
    done.mode.off?.();
  }

  /** Gives up what the pointer is doing. @returns {boolean} whether there was anything */
  cancel() {
    const done = this.#now;
    if (!done) return false;
    this.#fingers.clear();
    this.#ended();
    done.mode.off?.();
    this.parts.store.set({ snap: null });
    this.parts.actions.dropDraft();
    return true;
  }

  /** The hand has done something else in place: lifted there, it is no tap any more. */
  rests() {
    if (this.#now && !this.#now.moved) this.#now.mode = { ...this.#now.mode, tap: undefined };
  }

  /** @param {PointerEvent} event @param {Hand} hand */
  #meant(event, hand) {
    return meantBy(this.parts, this.svg, event.target, hand);
  }

  #ended() {
    this.#now = null;
    this.svg.classList.remove("dragging");
  }
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
  const bodies = stage.bodiesAt(hand.floor, hand.reach);
  // A body that is selected is moved by its own line, whatever else lies there.
  const held = bodies.filter((id) => store.get().selection.includes(id));
  const ids = [...held, ...itemsAt(document, hand.floor, hand.reach, snapper.hidden(), stage.roots)];
  const { id: drawn, kind } = under("g.item[data-id]")?.dataset ?? {};
  if (drawn && kind === "dimension") return dragDimension(parts, drawn, hand);
  if (drawn && kind === "tube" && find(document, drawn)) ids.push(drawn);
  // The tube that drops to a port selects it; dragged it stays, for the port stands elsewhere.
  else if (!ids.length && drawn && kind === "drop") return hand.adding ? marquee(parts, hand) : pan(parts, hand, drawn);
  else if (!ids.length && drawn && find(document, drawn)) ids.push(drawn);
  ids.push(...bodies.filter((id) => !ids.includes(id)));
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
  const item = selection.length === 1 ? find(document, id)?.item : null;
  // What follows something has no edges of its own.
  const outline = selection.length === 1 && !item?.locked && !item?.follows && !isLed(item) ? outlineOf(document, id) : null;
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
  const [id] = [...itemsAt(state.document, hand.floor, hand.reach, snapper.hidden(), stage.roots), ...stage.bodiesAt(hand.floor, hand.reach)];
  store.set({ pointer: hand.floor, hover: id ?? null, snap: null });
  svg.classList.toggle("over-item", Boolean(id));
  svg.classList.toggle("over-edge", Boolean(state.selection.length === 1 && edgeUnder(state, hand)));
}
