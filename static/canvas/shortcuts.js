/** The keyboard: everything the pointer can do. Single letters work on the drawing only, where nobody types words. */

import { focusOn } from "../dom.js";
import { centreOf, everyItem, find } from "../model/document.js";
import { shown, toFloor, toScreen, zoomed } from "../geometry/view.js";
import { itemsAt } from "../geometry/hits.js";
import { copyOf } from "../panels/itemactions.js";
import { STEPS } from "../steps/progress.js";
import { TOOLS, samePlace } from "./tools.js";

/**
 * @typedef {import("../types.js").Point} Point
 * @typedef {{store: import("../types.js").Store, actions: import("../types.js").Actions, tools: import("./tools.js").Tools,
 *   pointer: {cancel: () => boolean}, stage: import("../types.js").Stage, svg: SVGSVGElement, help: () => void,
 *   showTab: (tab: string) => void, fit: () => void}} Parts
 * @typedef {(event: KeyboardEvent) => boolean|void} Act  false: the key was for somebody else after all
 */

/** Tools whose last corner is said by Enter. @type {string[]} */
const ENDS_BY_ENTER = ["channel", "polygon", "tube"];

/** Whether there are corners that were clicked: Enter ends them, for the cursor was not used. @param {import("../types.js").State} state */
const clicked = ({ tool, course, cursorShown }) => ENDS_BY_ENTER.includes(tool?.use ?? "") && course.length > 0 && !cursorShown;

/** All shortcuts, as the help shows them. @type {[string, [string, string][]][]} */
export const SHORTCUTS = [
  [
    "Anywhere",
    [
      ["Ctrl Z", "Undo"],
      ["Ctrl Shift Z | Ctrl Y", "Redo"],
      ["Alt 1 | … | Alt 6", "The steps"],
      ["Alt D", "To the drawing"],
      ["Alt F", "To the findings"],
      ["Alt I", "To the list of all items"],
      ["F1", "This list"],
    ],
  ],
  [
    "On the drawing",
    [
      ["Arrows", "Move the cursor, or the selection by 1 mm"],
      ["Shift | Arrows", "By 10 mm"],
      ["Ctrl | Arrows", "By 0.1 mm"],
      ["Enter", "Select at the cursor; place with the tool; go to the item panel"],
      [", | .", "Previous item, next item"],
      ["Delete", "Delete the selection"],
      ["Escape", "Cancel, step by step"],
      ["+ | − | 0", "Zoom in, zoom out, fit"],
      ["Page up | Page down", "Zoom in, zoom out"],
      ["Ctrl A", "Select all"],
      ["Ctrl D", "Copy the selection"],
      ["Ctrl C | Ctrl X | Ctrl V", "Copy, cut and paste, also to another plate"],
      ["Alt | Drag", "Free of snapping; channels stay"],
    ],
  ],
  [
    "Tools, on the drawing",
    [
      ["P", "Port"],
      ["H", "Screw hole"],
      ["C", "Channel"],
      ["T", "Tube"],
      ["J", "Branch"],
      ["K", "Round cutout"],
      ["R", "Pocket"],
      ["Z", "Keep-out"],
      ["O | W", "Obstacle, opening in the floor"],
      ["M", "Distance"],
      ["X", "Section"],
      ["B", "Select by a box of two clicks: what lies wholly within"],
    ],
  ],
  [
    "By mouse or finger",
    [
      ["Drag empty floor", "Moves the view"],
      ["Shift | Drag", "Selects what lies wholly within the box, wherever it begins"],
      ["Wheel | Pinch", "Zooms about the pointer"],
      ["Click again", "Selects what lies beneath"],
      ["Right click | Long press | Shift F10", "What can be done there"],
      ["Shift | Click", "Adds to the selection"],
    ],
  ],
];

/** @param {Parts} parts */
export function createShortcuts(parts) {
  const { store, svg } = parts;
  const cursor = createCursor(parts);
  const zoom = (/** @type {number} */ factor) => {
    const { view, size, cursor: at, cursorShown } = store.get();
    /** @type {Point} */
    const about = cursorShown && at ? toScreen(view, at) : [size[0] / 2, size[1] / 2];
    store.set({ view: zoomed(view, factor, about) });
  };
  listen(window, anywhere(parts));
  listen(svg, onDrawing(parts, cursor, zoom));
  svg.addEventListener("focus", () => {
    if (svg.matches(":focus-visible")) cursor.show();
  });
  svg.addEventListener("blur", () => store.set({ cursorShown: false }));
  return { zoom };
}

/** A key in the form of the tables below: "ctrl+shift+z", "alt+1", "arrowleft". @param {KeyboardEvent} event */
function nameOf(event) {
  const key = event.key.toLowerCase();
  const held = [(event.ctrlKey || event.metaKey) && "ctrl", event.altKey && "alt", event.shiftKey && "shift"];
  return [...held.filter(Boolean), key].join("+");
}

/** @param {Window|SVGSVGElement} where @param {(name: string, event: KeyboardEvent) => Act|undefined} find */
function listen(where, find) {
  where.addEventListener("keydown", (given) => {
    const event = /** @type {KeyboardEvent} */ (given);
    if (document.querySelector("dialog[open]")) return;
    const act = find(nameOf(event), event);
    if (act && act(event) !== false) event.preventDefault();
  });
}

/** @param {EventTarget|null} target */
const isTyping = (target) => target instanceof Element && target.matches("input, textarea, select, [contenteditable]");
/** @param {EventTarget|null} target */
const isText = (target) => target instanceof Element && target.matches("input[type=text], textarea");

/** Who goes by a key to what stands beside the drawing finds it open. @param {import("../types.js").Store} store */
const unfold = (store) => {
  if (document.documentElement.dataset.margin === "shut") store.set({ margin: "open" });
};

/** Keys that work wherever the focus is. @param {Parts} parts @returns {(name: string, event: KeyboardEvent) => Act|undefined} */
function anywhere({ store, actions, tools, pointer, svg, help, showTab }) {
  /** What is typed has an undo of its own. @param {() => unknown} act @returns {Act} */
  const notInText = (act) => (event) => (isText(event.target) ? false : void act());
  /** @type {Act} */
  const remove = (event) => {
    const button = event.target instanceof HTMLButtonElement && event.key === "Backspace";
    if (isTyping(event.target) || button || !store.get().selection.length) return false;
    actions.remove();
  };
  /** @type {Act} */
  const escape = (event) => {
    if (isTyping(event.target)) return false;
    if (pointer.cancel() || tools.escape()) return false;
    if (store.get().spot) store.set({ spot: null });
    else actions.select([]);
    return false;
  };
  /** @type {Record<string, Act>} */
  const keys = {
    // In the middle of a drag it takes back the drag.
    "ctrl+z": notInText(() => pointer.cancel() || actions.undo()),
    "ctrl+shift+z": notInText(actions.redo),
    "ctrl+y": notInText(actions.redo),
    "alt+d": () => svg.focus(),
    "alt+f": () => {
      unfold(store);
      focusOn("#findings .found-words", "#findings");
    },
    "alt+i": () => {
      unfold(store);
      showTab("items");
      focusOn("#items .item-row[aria-pressed=true]", "#items .item-row");
    },
    f1: () => help(),
    escape,
    delete: remove,
    backspace: remove,
  };
  for (const [i, { step }] of STEPS.entries())
    keys[`alt+${i + 1}`] = () => {
      actions.step(step);
      requestAnimationFrame(() => requestAnimationFrame(() => focusOn("#step-title")));
    };
  return (name) => keys[name];
}

/** Keys of the drawing. @param {Parts} parts @param {ReturnType<typeof createCursor>} cursor @param {(factor: number) => void} zoom @returns {(name: string, event: KeyboardEvent) => Act|undefined} */
function onDrawing(parts, cursor, zoom) {
  const { store, actions, help, fit } = parts;
  const larger = () => zoom(1.25);
  const smaller = () => zoom(0.8);
  /** @type {Record<string, Act>} */
  const keys = {
    enter: (event) => cursor.enter(event.shiftKey),
    " ": (event) => cursor.enter(event.shiftKey),
    ".": () => nextItem(parts, 1),
    ",": () => nextItem(parts, -1),
    "+": larger,
    "=": larger,
    pageup: larger,
    "-": smaller,
    pagedown: smaller,
    0: () => fit(),
    "?": () => help(),
    "ctrl+a": () =>
      actions.select(
        everyItem(store.get().document)
          .filter(({ kind }) => !["group", "board", "device"].includes(kind))
          .map(({ item }) => item.id),
      ),
    "ctrl+d": () => {
      const { selection } = store.get();
      if (selection.length) copyOf(parts, selection);
    },
  };
  for (const [i, { step }] of STEPS.entries()) keys[i + 1] = () => actions.step(step);
  for (const tool of Object.values(TOOLS))
    if (tool.letter)
      keys[tool.letter] = () => {
        actions.tool(store.get().tool?.name === tool.name ? null : tool);
        if (store.get().tool) cursor.show();
      };
  return (name, event) => {
    if (event.key.startsWith("Arrow") && !event.altKey) return () => cursor.arrow(event);
    // Shift is how some keyboards write + and ?, and what lets a tool stay.
    return keys[name] ?? keys[name.replace("shift+", "")];
  };
}

/** To the next item of the document. @param {Parts} parts @param {number} by */
function nextItem({ store, actions }, by) {
  const { document, selection, view, size } = store.get();
  const ids = everyItem(document)
    .filter(({ kind }) => kind !== "group")
    .map(({ item }) => item.id);
  if (!ids.length) return;
  const at = ids.indexOf(selection.at(-1) ?? "");
  const id = ids[(at + by + ids.length) % ids.length];
  actions.select([id]);
  const centre = centreOf(document, id);
  if (centre) store.set({ view: shown(view, centre, size) });
  actions.whisper(`${id} selected.`);
}

/** The cursor that stands for the pointer. @param {Parts} parts */
function createCursor({ store, actions, tools, stage, showTab }) {
  /** @returns {Point} where it is now */
  function show() {
    const { size, view } = store.get();
    const [x, y] = store.get().cursor ?? toFloor(view, [size[0] / 2, size[1] / 2]).map(Math.round);
    store.set({ cursor: [x, y], cursorShown: true });
    return [x, y];
  }

  /** @param {KeyboardEvent} event */
  function arrow(event) {
    const { selection, tool, view, size } = store.get();
    const [ux, uy] = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key] ?? [
      0, 0,
    ];
    const by = event.ctrlKey || event.metaKey ? 0.1 : event.shiftKey ? 10 : 1;
    if (selection.length && !tool) {
      actions.nudge(ux * by, uy * by);
      const at = centreOf(store.get().document, selection[0]);
      if (at) actions.whisper(`${selection.join(", ")} at ${at[0].toFixed(1)}, ${at[1].toFixed(1)}`);
      return;
    }
    const [x, y] = show();
    /** @type {Point} */
    const next = [Math.round((x + ux * by) * 10) / 10, Math.round((y + uy * by) * 10) / 10];
    store.set({ cursor: next, view: shown(view, next, size, 40), snap: null });
    actions.whisper(`Cursor at ${next[0]}, ${next[1]}`);
  }

  /** @param {boolean} keep */
  function enter(keep) {
    const { tool, selection, document, view, course } = store.get();
    const reach = 10 / view.scale;
    if (!tool && selection.length) {
      unfold(store);
      showTab("selected");
      focusOn("#item-panel .fields input, #item-panel .fields select", "#item-panel button");
      return;
    }
    if (clicked(store.get())) return tools.finish();
    const at = show();
    if (tool) {
      // Enter twice in one place ends a course.
      const last = course.at(-1);
      if (tool.course && Array.isArray(last) && samePlace(last, at)) tools.finish();
      else tools.at(at, { keep, reach });
      return;
    }
    const [id] = itemsAt(document, at, reach, new Set(), stage.roots);
    if (id && find(document, id)) {
      actions.select([id]);
      actions.say(`${id} selected.`);
    } else {
      actions.say("Nothing lies under the cursor.");
    }
  }

  return { show, arrow, enter };
}
