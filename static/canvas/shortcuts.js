/** The keyboard: everything the pointer can do. Single letters work on the drawing only, where nobody types words. */

import { KINDS, centreOf, itemsOf } from "../model/document.js";
import { fitted, shown, zoomed } from "../geometry/view.js";
import { TOOLS } from "./tools.js";
import { STEPS } from "../panels/stepbar.js";
import { itemsAt } from "../geometry/hits.js";

/** The sheet of keys, as the help shows it. @type {[string, [string, string][]][]} */
export const SHEET = [
  [
    "Anywhere",
    [
      ["Ctrl Z", "Undo"],
      ["Ctrl Shift Z | Ctrl Y", "Redo"],
      ["Alt 1 | … | Alt 6", "The steps of the way"],
      ["Alt D", "To the drawing"],
      ["Alt F", "To the findings"],
      ["Alt I", "To the list of all items"],
      ["F1", "This sheet"],
    ],
  ],
  [
    "On the drawing",
    [
      ["Arrows", "Move the pen; or nudge what is picked by 1 mm"],
      ["Shift | Arrows", "By 10 mm"],
      ["Ctrl | Arrows", "By 0.1 mm"],
      ["Enter", "Pick at the pen; set down what is in hand; go to the card of what is picked"],
      [", | .", "The item before, the item after"],
      ["Delete", "Delete what is picked"],
      ["Escape", "Put away, step by step"],
      ["+ | − | 0", "Larger, smaller, whole"],
      ["Page up | Page down", "Larger, smaller"],
      ["Ctrl A", "Pick all"],
      ["Ctrl D", "Copy what is picked"],
      ["Alt | Drag", "Free of snapping"],
    ],
  ],
  [
    "Take in hand, on the drawing",
    [
      ["P", "Port"],
      ["H", "Screw hole"],
      ["C", "Channel"],
      ["J", "Branch"],
      ["K", "Round cutout"],
      ["R", "Pocket"],
      ["Z", "Keep-out"],
      ["O | W", "Obstacle, opening in the floor"],
      ["M", "Measure"],
      ["X", "Section"],
    ],
  ],
  [
    "By hand",
    [
      ["Drag empty floor", "Moves the view"],
      ["Shift | Drag", "Picks all within"],
      ["Wheel | Pinch", "Larger, smaller, about the pointer"],
      ["Click again", "Picks what lies beneath"],
      ["Shift | Click", "Adds to what is picked"],
    ],
  ],
];

/** @param {{store: any, actions: any, tools: any, pointer: any, stage: any, svg: SVGSVGElement, help: () => void, showTab: (tab: string) => void}} parts */
export function createKeys({ store, actions, tools, pointer, stage, svg, help, showTab }) {
  const typing = (/** @type {any} */ element) => element?.matches?.("input, textarea, select, [contenteditable]");

  window.addEventListener("keydown", (event) => {
    const command = event.ctrlKey || event.metaKey;
    if (document.querySelector("dialog[open]")) return;
    if (command && !event.altKey && event.key.toLowerCase() === "z" && !isText(event.target)) {
      event.preventDefault();
      void (event.shiftKey ? actions.redo() : actions.undo());
    } else if (command && event.key.toLowerCase() === "y" && !isText(event.target)) {
      event.preventDefault();
      void actions.redo();
    } else if (event.altKey && !command && /^[1-6]$/.test(event.key)) {
      event.preventDefault();
      actions.step(STEPS[Number(event.key) - 1].step);
      requestAnimationFrame(() => requestAnimationFrame(() => document.getElementById("sheet-title")?.focus()));
    } else if (event.altKey && !command && ["d", "f", "i"].includes(event.key.toLowerCase())) {
      event.preventDefault();
      const key = event.key.toLowerCase();
      if (key === "d") svg.focus();
      else if (key === "f")
        /** @type {any} */ (
          document.querySelector("#findings .found-words") ?? document.getElementById("findings")
        )?.focus();
      else {
        showTab("items");
        /** @type {any} */ (
          document.querySelector("#items .item-row[aria-pressed=true]") ?? document.querySelector("#items .item-row")
        )?.focus();
      }
    } else if (event.key === "F1") {
      event.preventDefault();
      help();
    } else if (event.key === "Escape" && !typing(event.target)) {
      if (pointer.cancel() || tools.escape()) return;
      if (store.get().spot) store.set({ spot: null });
      else actions.pick([]);
    } else if (
      (event.key === "Delete" || event.key === "Backspace") &&
      !typing(event.target) &&
      !(event.target instanceof HTMLButtonElement && event.key === "Backspace")
    ) {
      if (store.get().selection.length) {
        event.preventDefault();
        actions.remove();
      }
    }
  });

  svg.addEventListener("keydown", (event) => {
    const command = event.ctrlKey || event.metaKey;
    const key = event.key;
    if (key.startsWith("Arrow")) {
      event.preventDefault();
      arrow(key, event);
    } else if (command && key.toLowerCase() === "a") {
      event.preventDefault();
      actions.pick(
        KINDS.filter((k) => !["group", "board", "device"].includes(k.kind))
          .flatMap(({ kind }) => itemsOf(store.get().document, kind))
          .map((item) => item.id),
      );
    } else if (command && key.toLowerCase() === "d") {
      event.preventDefault();
      /** @type {any} */ (document.querySelector('[data-keep="copy"]'))?.click();
    } else if (command || event.altKey) {
      return;
    } else if (key === "Enter" || key === " ") {
      event.preventDefault();
      enter(event.shiftKey);
    } else if (key === "." || key === ",") {
      step(key === "." ? 1 : -1);
    } else if (key === "+" || key === "=" || key === "PageUp") {
      event.preventDefault();
      zoom(1.25);
    } else if (key === "-" || key === "PageDown") {
      event.preventDefault();
      zoom(0.8);
    } else if (key === "0") {
      store.set({ view: fitted(store.get().look?.drawing?.box ?? [0, 0, 400, 300], store.get().size, 24) });
    } else if (/^[1-6]$/.test(key)) {
      actions.step(STEPS[Number(key) - 1].step);
    } else if (key === "?") {
      help();
    } else {
      const tool =
        Object.values(TOOLS).find((t) => t.letter === key.toLowerCase()) ??
        (key.toLowerCase() === "k" ? TOOLS["cutout-circle"] : null);
      if (tool) {
        actions.tool(store.get().tool?.name === tool.name ? null : tool);
        if (store.get().tool) showPen();
      }
    }
  });

  svg.addEventListener("focus", () => {
    if (svg.matches(":focus-visible")) showPen();
  });
  svg.addEventListener("blur", () => store.set({ penShown: false }));

  function showPen() {
    const { pen, size, view } = store.get();
    if (!pen) {
      const middle = [(size[0] / 2 - view.x) / view.scale, (view.y - size[1] / 2) / view.scale];
      store.set({ pen: middle.map(Math.round) });
    }
    store.set({ penShown: true });
  }

  /** @param {string} key @param {KeyboardEvent} event */
  function arrow(key, event) {
    const { selection, tool, pen, view, size } = store.get();
    const [ux, uy] = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[key] ?? [0, 0];
    const by = event.ctrlKey || event.metaKey ? 0.1 : event.shiftKey ? 10 : 1;
    if (selection.length && !tool) {
      actions.nudge(ux * by, uy * by);
      const at = centreOf(store.get().document, selection[0]);
      if (at) actions.whisper(`${selection.join(", ")} at ${at[0].toFixed(1)}, ${at[1].toFixed(1)}`);
      return;
    }
    showPen();
    const from = store.get().pen ?? pen;
    const next = [Math.round((from[0] + ux * by) * 10) / 10, Math.round((from[1] + uy * by) * 10) / 10];
    store.set({ pen: next, view: shown(view, /** @type {any} */ (next), size, 40), snap: null });
    actions.whisper(`Pen at ${next[0]}, ${next[1]}`);
  }

  /** @param {boolean} keep */
  function enter(keep) {
    const { tool, pen, selection, document: plate, view, course } = store.get();
    const reach = 10 / view.scale;
    if (tool) {
      showPen();
      const at = store.get().pen;
      // Enter twice in one place ends a course.
      const last = (course ?? []).at(-1);
      if (tool.course && Array.isArray(last) && Math.hypot(last[0] - at[0], last[1] - at[1]) < 1e-6) tools.finish();
      else tools.at(at, { keep, reach });
      return;
    }
    if (selection.length) {
      showTab("picked");
      /** @type {any} */ (
        window.document.querySelector("#card .fields input, #card .fields select") ??
          window.document.querySelector("#card button")
      )?.focus();
      return;
    }
    showPen();
    const [id] = itemsAt(plate, pen ?? store.get().pen, reach, new Set(), stage.roots);
    if (id) {
      actions.pick([id]);
      actions.say(`${id} picked.`);
    } else {
      actions.say("Nothing lies under the pen.");
    }
  }

  /** To the next item of the document. @param {number} by */
  function step(by) {
    const { document: plate, selection, view, size } = store.get();
    const ids = KINDS.filter((k) => k.kind !== "group")
      .flatMap(({ kind }) => itemsOf(plate, kind))
      .map((item) => item.id);
    if (!ids.length) return;
    const at = ids.indexOf(selection.at(-1));
    const id = ids[(at + by + ids.length) % ids.length];
    actions.pick([id]);
    const centre = centreOf(plate, id);
    if (centre) store.set({ view: shown(view, centre, size) });
    actions.whisper(`${id} picked.`);
  }

  /** @param {number} factor */
  function zoom(factor) {
    const { view, size, pen, penShown } = store.get();
    const about =
      penShown && pen ? [view.x + pen[0] * view.scale, view.y - pen[1] * view.scale] : [size[0] / 2, size[1] / 2];
    store.set({ view: zoomed(view, factor, /** @type {any} */ (about)) });
  }

  return { zoom };
}

/** @param {any} element */
const isText = (element) => element?.matches?.("input[type=text], textarea");
