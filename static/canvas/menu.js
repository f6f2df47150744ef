/** The menu of what lies under the pointer: what can be done with it, right there. By keyboard at the selection. */

import { h } from "../dom.js";
import { itemsAt } from "../geometry/hits.js";
import { edgesOf, edgeAt, nearOutline } from "../geometry/outline.js";
import { distance, nearestOn } from "../geometry/path.js";
import { toFloor, toScreen } from "../geometry/view.js";
import { insertPoint, placeOnCourse, removePoint } from "../model/centrelines.js";
import { called, centreOf, find, isWhole, outlineCorners, outlineOf, placeOf } from "../model/document.js";
import { group, lock, ungroup } from "../model/edit.js";
import { withOutline } from "../model/outlines.js";
import { arched, asPolygon, bulgeOf, cornerInserted, cornerRemoved } from "../model/polygons.js";
import { insertTubePoint, placeOnTube, removeTubePoint, tubePoints } from "../model/tubes.js";
import { pivotOf, turn, turnable } from "../model/turning.js";
import { copyOf } from "../panels/itemactions.js";
import { TOOLS } from "./tools.js";
import { createHold } from "./touch.js";

/**
 * @typedef {import("../types.js").Point} Point
 * @typedef {{words: string, act: () => unknown}} Entry
 * @typedef {{store: import("../types.js").Store, actions: import("../types.js").Actions, stage: import("../types.js").Stage,
 *   tools: import("./tools.js").Tools, pointer: {rests: () => void}, svg: SVGSVGElement, board: HTMLElement, fit: () => void}} Parts
 */

/** How near counts as on it, px. */
const REACH = 10;

/** @param {Parts} parts */
export function createMenu(parts) {
  const { store, svg, board, pointer } = parts;
  /** @type {HTMLElement|null} */
  let menu = null;

  function close() {
    menu?.remove();
    menu = null;
  }

  /** @param {{clientX: number, clientY: number, target: EventTarget|null}} place @param {string[]} before what was selected before @param {boolean} [byKey] it has no place of its own: it is meant for the selection @returns {boolean} whether there is a menu now */
  function open({ clientX, clientY, target }, before, byKey = false) {
    close();
    const state = store.get();
    if (!state.document || state.tool) return false;
    const box = svg.getBoundingClientRect();
    /** @type {Point} */
    let at = [clientX - box.left, clientY - box.top];
    const centre = byKey && state.selection.length ? centreOf(state.document, state.selection[0]) : null;
    if (centre) at = toScreen(state.view, centre);
    const floor = toFloor(state.view, at);
    if (!centre) selectUnder(parts, floor, target);
    menu = drawn(entriesAt(parts, floor, before), close, svg, hold.lifting);
    board.append(menu);
    const inside = board.getBoundingClientRect();
    const [left, top] = [box.left - inside.left + at[0], box.top - inside.top + at[1]];
    // Beside the finger, never under it.
    const beside = left + BESIDE + menu.offsetWidth + 4 > inside.width ? left - BESIDE - menu.offsetWidth : left + BESIDE;
    menu.style.left = `${Math.max(0, beside)}px`;
    menu.style.top = `${Math.max(0, Math.min(top, inside.height - menu.offsetHeight - 4))}px`;
    menu.querySelector("button")?.focus();
    return true;
  }

  const dismiss = () => {
    close();
    svg.focus({ preventScroll: true });
  };
  const hold = createHold({ svg, selected: () => store.get().selection, open, close: dismiss, rests: pointer.rests });
  svg.addEventListener("contextmenu", (event) => {
    event.preventDefault();
    if (!hold.pressing) open(event, store.get().selection, event.button !== 2);
  });
  window.addEventListener("pointerdown", (event) => {
    if (menu && event.target instanceof Node && !menu.contains(event.target)) close();
  });
  // Wherever the focus has gone meanwhile.
  window.addEventListener(
    "keydown",
    (event) => {
      if (!menu || event.key !== "Escape") return;
      event.stopPropagation();
      dismiss();
    },
    { capture: true },
  );
  window.addEventListener("blur", close);
  store.watch(["tool", "step", "plate"], close);
}

/** How far beside the place that it is about, px. */
const BESIDE = 3;

/** @param {Entry[]} entries @param {() => void} close @param {SVGSVGElement} svg @param {(click: MouseEvent) => boolean} lifting whether what is clicked is only the finger that opened it, being lifted */
function drawn(entries, close, svg, lifting) {
  const buttons = entries.map(({ words, act }) =>
    h(
      "button",
      {
        type: "button",
        role: "menuitem",
        tabindex: "-1",
        onclick: (/** @type {MouseEvent} */ event) => {
          if (lifting(event)) return;
          close();
          svg.focus({ preventScroll: true });
          act();
        },
      },
      words,
    ),
  );
  const list = h("div.context-menu", { role: "menu", "aria-label": "What can be done here" }, buttons);
  list.addEventListener("keydown", (event) => {
    const at = buttons.findIndex((one) => one === document.activeElement);
    const to = { ArrowDown: at + 1, ArrowUp: at - 1 + buttons.length, Home: 0, End: buttons.length - 1 }[event.key];
    event.stopPropagation();
    if (to !== undefined) buttons[to % buttons.length].focus();
    else if (event.key === "Tab") {
      close();
      svg.focus({ preventScroll: true });
    } else return;
    event.preventDefault();
  });
  return list;
}

/** What lies under the pointer is selected, unless it is already. @param {Parts} parts @param {Point} floor @param {EventTarget|null} target */
function selectUnder({ store, actions, stage }, floor, target) {
  const { document, view, selection, layers } = store.get();
  const reach = REACH / view.scale;
  const hidden = new Set(Object.keys(layers).filter((name) => layers[name] === "hidden"));
  const ids = itemsAt(document, floor, reach, hidden, stage.roots);
  const drawn = target instanceof Element ? /** @type {SVGElement|null} */ (target.closest("g.item[data-id]")) : null;
  // A handle belongs to what is selected.
  if (target instanceof Element && target.closest("[data-handle]")) return;
  // What only the server can draw is known by its drawing.
  if (drawn && ["tube", "drop", "dimension"].includes(drawn.dataset.kind ?? "")) ids.push(drawn.dataset.id ?? "");
  ids.push(...stage.bodiesAt(floor, reach));
  if (ids.some((id) => selection.includes(id))) return;
  const [kept] = selection;
  const own = selection.length === 1 ? outlineOf(document, kept) : null;
  if (own && nearOutline(own, floor, reach)) return;
  const whole = ["plate", "floor"].find((id) => {
    const outline = isWhole(document, id) ? outlineOf(document, id) : null;
    return outline && nearOutline(outline, floor, reach);
  });
  actions.select(ids.length ? [ids[0]] : whole ? [whole] : []);
}

/** @param {Parts} parts @param {Point} floor @param {string[]} before what was selected before the menu was opened @returns {Entry[]} */
function entriesAt(parts, floor, before) {
  const { selection, document } = parts.store.get();
  if (!selection.length) return nothingHere(parts, floor);
  const others = before.filter((id) => !selection.includes(id) && find(document, id));
  const here = selection.filter((id) => find(document, id));
  // A finger has no Shift to add to what is selected.
  const together = others.length && here.length
    ? [{ words: `Select with ${others.length > 1 ? `the other ${others.length}` : others[0]}`, act: () => parts.actions.select([...others, ...here]) }]
    : [];
  return [...shapeEntries(parts, floor), ...together, ...itemEntries(parts, floor)];
}

/** @param {Parts} parts @param {Point} floor @returns {Entry[]} */
function nothingHere({ actions, tools, store, fit }, floor) {
  const reach = REACH / store.get().view.scale;
  /** @param {string} name @param {string} words @returns {Entry} */
  const begin = (name, words) => ({
    words,
    act: () => {
      actions.tool(TOOLS[name]);
      tools.at(floor, { reach });
    },
  });
  return [
    begin("port", "Add a port here"),
    begin("hole", "Add a screw hole here"),
    begin("cutout-circle", "Add a round cutout here"),
    begin("channel", "Begin a channel here"),
    begin("measure", "Distance from here"),
    begin("box", "Select by a box from here"),
    { words: "Select the plate", act: () => actions.select(["plate"]) },
    { words: "Fit the view", act: fit },
  ];
}

/** Corners and edges of the outline, or of the channel, under the pointer. @param {Parts} parts @param {Point} floor @returns {Entry[]} */
function shapeEntries({ store, actions, stage }, floor) {
  const { document, selection, view } = store.get();
  const [id] = selection;
  if (selection.length !== 1) return [];
  const reach = REACH / view.scale;
  const found = find(document, id);
  if (found?.item.locked) return [];
  if (found?.kind === "channel") {
    const bend = (found.item.points ?? []).findIndex((p) => distance(placeOf(p), floor) <= reach);
    if (bend >= 0) {
      const remove = () => actions.edit(`Remove a corner of ${id}`, (d) => removePoint(d, id, bend), { spot: null });
      return [{ words: "Remove this corner", act: remove }];
    }
    const place = placeOnCourse(document, id, floor, stage.roots);
    if (!place) return [];
    const spot = { id, index: place.index };
    const act = () => actions.edit(`Add a corner to ${id}`, (d) => insertPoint(d, id, place.index, place.point), { spot });
    return [{ words: "Add a corner here", act }];
  }
  const ends = stage.ends.get(id);
  if (ends) return tubeEntries({ store, actions }, id, ends, floor);
  const outline = outlineOf(document, id);
  if (!outline) return [];
  if (outline.shape !== "polygon")
    return [
      { words: "Edit by corners", act: () => actions.edit(`Corners of ${id}`, (d) => withOutline(d, id, asPolygon)) },
    ];
  const corner = outlineCorners(outline).findIndex((p) => distance(p, floor) <= reach);
  /** @param {string} label @param {import("../types.js").Outline} next @param {import("../types.js").Spot|null} spot */
  const shape = (label, next, spot) => actions.edit(`${label} ${isWhole(document, id) ? "the " : ""}${id}`, (d) => withOutline(d, id, () => next), { spot });
  if (corner >= 0)
    return [
      {
        words: `Remove corner ${corner + 1}`,
        act: () => shape("Remove a corner of", cornerRemoved(outline, corner), null),
      },
      { words: `Select corner ${corner + 1}`, act: () => store.set({ spot: { id, index: corner } }) },
    ];
  const edge = edgeAt(outline, floor, reach)?.index;
  if (edge === undefined) return [];
  const { from, to } = edgesOf(outline)[edge];
  const arc = bulgeOf(outline, edge);
  const spot = { id, index: edge + 1 };
  return [
    {
      words: "Add a corner here",
      act: () => shape("Add a corner to", cornerInserted(outline, edge, arc ? floor : nearestOn(floor, from, to)), spot),
    },
    arc
      ? { words: "Make this edge straight", act: () => shape("Straighten an edge of", arched(outline, edge, 0), null) }
      : {
          words: "Make this edge an arc",
          act: () =>
            shape("Arch an edge of", arched(outline, edge, distance(from, to) / 8), { id, index: edge, edge: true }),
        },
  ];
}

/** @param {Pick<Parts, "store"|"actions">} parts @param {string} id @param {[import("../model/tubes.js").Place, import("../model/tubes.js").Place]} ends @param {Point} floor @returns {Entry[]} */
function tubeEntries({ store, actions }, id, ends, floor) {
  const { document, view } = store.get();
  const corner = (tubePoints(document, id) ?? []).findIndex((p) => distance([p.x_mm, p.y_mm], floor) <= REACH / view.scale);
  if (corner >= 0)
    return [
      {
        words: `Remove corner ${corner + 1} of the tube`,
        act: () => actions.edit(`Remove a corner of the tube ${id}`, (d) => removeTubePoint(d, id, corner), { spot: null }),
      },
    ];
  const place = placeOnTube(document, id, ends, floor);
  if (!place || place.away > (3 * REACH) / view.scale) return [];
  const spot = { id, index: place.index };
  const act = () =>
    actions.edit(`Add a corner to the tube ${id}`, (d) => insertTubePoint(d, id, place.index, place.place), { spot });
  return [{ words: "Add a corner to the tube here", act }];
}

/** @param {Parts} parts @param {Point} floor @returns {Entry[]} */
function itemEntries(parts, floor) {
  const { store, actions, stage } = parts;
  const { document, selection, view } = store.get();
  const items = selection.filter((id) => find(document, id));
  const first = find(document, items[0] ?? "");
  if (!first) return [{ words: "Fit the view", act: parts.fit }];
  const locked = items.every((id) => find(document, id)?.item.locked);
  const several = items.length > 1;
  const grouped = (document.groups ?? []).some((g) => items.some((id) => g.id === id || g.members?.includes(id)));
  const reach = REACH / view.scale;
  const beneath = [...itemsAt(document, floor, reach, new Set(), stage.roots), ...stage.bodiesAt(floor, reach)].filter((id) => !items.includes(id));
  const name = several ? `${items.length} items` : called(first.item);
  /** @type {(Entry|false)[]} */
  const entries = [
    { words: `Copy ${name}`, act: () => copyOf(parts, items) },
    items.some((id) => turnable(document, id)) && { words: "Turn a quarter to the left", act: () => quarter(parts, items) },
    {
      words: locked ? "Unlock" : "Lock",
      act: () => actions.edit(`${locked ? "Unlock" : "Lock"} ${items.join(", ")}`, (d) => lock(d, items, !locked)),
    },
    several && {
      words: "Group",
      act: () => {
        const made = group(store.get().document, items, "");
        actions.commit(made.document, `Group ${made.id}`, { selection: [made.id] });
      },
    },
    grouped && { words: "Ungroup", act: () => actions.edit("Ungroup", (d) => ungroup(d, items)) },
    ...beneath.slice(0, 3).map((id) => ({ words: `Select ${id} beneath`, act: () => actions.select([id]) })),
    { words: `Delete ${name}`, act: () => actions.remove() },
  ];
  return entries.filter((entry) => entry !== false);
}

/** @param {Parts} parts @param {string[]} ids */
function quarter({ store, actions, stage }, ids) {
  const { document } = store.get();
  const pivot = pivotOf(document, ids, stage.middleOf);
  const moving = actions.moving(ids);
  if (!moving.length) actions.stays(ids);
  else if (pivot) actions.edit(`Turn ${ids.join(", ")}`, (d) => turn(d, moving, pivot, 90));
}
