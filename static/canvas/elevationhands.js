/** What hands do in an elevation: a drag follows in the same frame, the arrow keys wait for the view that says how. */

import { find, withGroups } from "../model/document.js";
import { withHeld } from "../model/following.js";
import { elevationMoved, leading, meant, oneWay, riseAllowed } from "../model/heightdrag.js";
import { tubePoints } from "../model/tubes.js";

/**
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("./elevations.js").Shown} Shown
 * @typedef {{store: import("../types.js").Store, actions: import("../types.js").Actions}} Parts
 * @typedef {{key: string, keys: string[], from: import("../types.js").Point, moved: boolean, of: PlateDocument, pointer: number, late?: boolean}} Held
 *   What is held: its key among the moves, those of all that moves with it, where it was taken (px), and the document that
 *   it was taken in; late: it was pulled while the view showed an older document.
 */

/** A press that moves less than this is a click, px. */
const STILL = 3;

/**
 * The drag in an elevation: one at a time, in whichever view it began.
 * @param {Parts} parts @param {(kept: boolean) => void} over told when the hand is off, and whether what it did is kept
 */
export function createElevationDrag({ store, actions }, over) {
  /** @type {Held|null} */
  let held = null;
  const drag = {
    get active() {
      return held !== null;
    },
    /** @param {number} pointer */
    holds: (pointer) => held?.pointer === pointer,
    /** Takes what is under the pointer. @param {SVGElement} svg @param {PointerEvent} event */
    take(svg, event) {
      if (event.button || held) return;
      const group = event.target instanceof Element ? event.target.closest("g.item[data-id]") : null;
      const key = group instanceof SVGElement ? keyOf(group) : "";
      if (!key) return;
      svg.setPointerCapture(event.pointerId);
      const keys = keysWith(store.get(), key);
      held = { key, keys, from: [event.clientX, event.clientY], moved: false, of: store.get().document, pointer: event.pointerId };
    },
    /** @param {Shown} view @param {PointerEvent} event */
    move(view, event) {
      if (held?.pointer !== event.pointerId) return;
      // Let go where nobody saw it.
      if (event.buttons === 0) return drag.drop();
      const step = stepOf(view, held, event);
      held.late ||= view.of !== held.of && Math.hypot(event.clientX - held.from[0], event.clientY - held.from[1]) >= STILL;
      if (!step || store.get().document !== held.of) return;
      held.moved = true;
      // All that moves together goes as far down as the first that comes to the floor.
      const up = step.moves.reduce((least, [, move]) => riseAllowed(step.of, move, least), step.up);
      for (const [key, move] of step.moves) follow(view.svg, step.of, key, move.right.length ? step.right : 0, move.up.length ? up : 0);
      actions.draft(step.moves.reduce((next, [, move]) => elevationMoved(next, move, step.right, up), step.of));
    },
    /** Let go: kept as one step, or a click that selects. */
    drop() {
      if (!held) return;
      const { key, moved, late } = held;
      held = null;
      if (late && !moved) actions.say("This view did not show the newest state yet: drag it again.");
      const [id, corner] = key.split("/");
      const { document } = store.get();
      const spot = tubePoints(document, id)?.[Number(corner)] ? { id, index: Number(corner) } : null;
      if (moved) actions.keepDraft(corner === "top" ? `Change the height of ${id}` : `Move ${id} in an elevation`);
      else if (id === "plate" || id === "floor" || find(document, id)) actions.select([id], { spot });
      over(moved);
    },
    /** What is dragged goes back to where it was. @returns {boolean} whether there was anything */
    cancel() {
      if (!held) return false;
      held = null;
      actions.dropDraft();
      over(false);
      return true;
    },
  };
  return drag;
}

/** How far the hand has taken what it holds, mm; none while it is still, or in a view of another document. @param {Shown} view @param {Held} held @param {PointerEvent} event */
function stepOf({ svg, answer, of }, held, event) {
  const [dx, dy] = [event.clientX - held.from[0], event.clientY - held.from[1]];
  const moves = held.keys.flatMap((key) => (answer.moves[key] ? [/** @type {const} */ ([key, answer.moves[key]])] : []));
  if ((!held.moved && Math.hypot(dx, dy) < STILL) || !moves.length || of !== held.of) return null;
  const scale = scaleOf(svg) || 1;
  // A tube's corner goes both ways at once.
  const corner = held.key.includes("/");
  const [right, up] = oneWay(meant(dx / scale, event.altKey), meant(-dy / scale, event.altKey), corner);
  return { moves, of, right, up };
}

/** What is moved by what is taken hold of: with a thing its group, and all that is selected if it is. @param {import("../types.js").State} state @param {string} key */
function keysWith({ document, selection }, key) {
  if (key === "plate" || key.includes("/") || !find(document, key)) return [key];
  return leading(document, withGroups(document, selection.includes(key) ? selection : [key]));
}

/** @type {Record<string, import("../types.js").Point>} right and up */
const ARROWS = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] };

/**
 * The selection moved by the arrow keys, as it is on the plan. What is pressed before the view of the newest document
 * is there waits for it, so that no key is lost.
 * @param {Parts} parts @param {(side: import("../types.js").Side) => Shown|undefined} viewOf
 */
export function createElevationKeys({ store, actions }, viewOf) {
  /** What no view of this document has come for yet, mm. @type {{side: import("../types.js").Side, right: number, up: number}|null} */
  let waiting = null;
  const keys = {
    /** @param {import("../types.js").Side} side @param {KeyboardEvent} event */
    press(side, event) {
      const way = ARROWS[event.key];
      if (!way || event.altKey) return;
      event.preventDefault();
      event.stopPropagation();
      const by = event.ctrlKey || event.metaKey ? 0.1 : event.shiftKey ? 10 : 1;
      const { right, up } = waiting?.side === side ? waiting : { right: 0, up: 0 };
      waiting = { side, right: right + way[0] * by, up: up + way[1] * by };
      keys.go();
    },
    /** Moves by what the keys asked for, as soon as the view says how. */
    go() {
      const { document, selection, spot } = store.get();
      const now = waiting && viewOf(waiting.side);
      if (!waiting || !now || now.of !== document) return;
      const { right, up } = waiting;
      waiting = null;
      const moves = leading(document, meantBy(store.get())).map((id) => now.answer.moves[id]).filter(Boolean);
      if (!moves.length) {
        actions.say("Nothing here can be moved: it is locked, or nothing is selected.");
        return;
      }
      const next = moves.reduce((d, move) => elevationMoved(d, move, right, up), document);
      actions.commit(next, `Move ${selection.join(", ")} in an elevation`, { spot });
    },
    forget() {
      waiting = null;
    },
  };
  return keys;
}

/** What the keys move: a tube's chosen corner, or what is selected with its groups. @param {import("../types.js").State} state */
function meantBy({ document, selection, spot }) {
  if (spot && tubePoints(document, spot.id)?.[spot.index]) return [`${spot.id}/${spot.index}`];
  return selection.length === 1 && selection[0] === "plate" ? ["plate"] : withGroups(document, selection);
}

/** The key of a thing among the moves: its id, or a tube's corner. @param {SVGElement} group */
const keyOf = ({ dataset }) => (dataset.index === undefined ? (dataset.id ?? "") : `${dataset.id}/${dataset.index}`);

/** px per mm of a drawing that fills its box as far as it fits. @param {SVGElement} svg */
export function scaleOf(svg) {
  const box = svg.getAttribute("viewBox")?.split(" ").map(Number) ?? [0, 0, 1, 1];
  const { clientWidth, clientHeight } = svg;
  return Math.min(clientWidth / box[2], clientHeight / box[3]);
}

/**
 * What moves is shifted in the same frame, with all that it carries; the server's drawing takes over when the hand is off.
 * @param {SVGElement} svg @param {PlateDocument} document @param {string} moved @param {number} right @param {number} up
 */
function follow(svg, document, moved, right, up) {
  const carried = withHeld(document, [moved]);
  // Ports and screws are in the plate.
  if (moved === "plate") for (const { id } of [...(document.ports ?? []), ...(document.holes ?? [])]) carried.add(id);
  for (const group of /** @type {NodeListOf<SVGElement>} */ (svg.querySelectorAll("g.item[data-id]"))) {
    const key = keyOf(group);
    // A device's port is called by its device first. A tube keeps its ends' names, and hangs where it is until it is drawn anew.
    const along = !/^(tube|drop)/.test(group.dataset.kind ?? "") && carried.has(key.split(/[./]/)[0]);
    if (key === moved || along) group.setAttribute("transform", `translate(${right} ${up})`);
  }
}
