/**
 * The tools in a narrow column beside the drawing, in the order of the job: they are at hand on every step and take no room
 * from the step's own panel. One stop of the Tab key; arrow keys go from tool to tool.
 */

import { TOOLS } from "../canvas/tools.js";
import { focusOn, h } from "../dom.js";

/** Tools by what they add to. @type {[string, string[]][]} */
const GROUPS = [
  ["On the floor", ["obstacle", "opening"]],
  [
    "On the plate",
    ["port", "hole", "cutout-circle", "cutout-slot", "cutout-rectangle", "cutout-polygon", "pocket", "keep-out"],
  ],
  ["Coolant", ["channel", "branch", "tube"]],
  ["Look", ["section"]],
];

/** @typedef {{store: import("../types.js").Store, actions: import("../types.js").Actions}} Parts */

/** @param {Parts & {root: HTMLElement}} parts */
export function createToolColumn({ store, actions, root }) {
  const name = h("div.tool-name", { "aria-hidden": "true", hidden: true });
  const groups = GROUPS.map(([words, tools]) =>
    h(
      "div.tool-group",
      { role: "group", "aria-label": words },
      tools.map((tool) => toolButton({ store, actions }, tool)),
    ),
  );
  root.append(...groups);
  root.after(name);
  const buttons = [...root.querySelectorAll("button")];
  roving(root, buttons);
  naming(root, name);
  store.watch(["tool"], ({ tool }) => {
    for (const button of buttons) button.setAttribute("aria-pressed", String(button.dataset.tool === tool?.name));
  });
}

/** @param {Parts} parts @param {string} name */
function toolButton({ store, actions }, name) {
  const { title, letter, help } = TOOLS[name];
  return h(
    "button.tool",
    {
      type: "button",
      "aria-pressed": "false",
      "aria-label": title,
      "aria-description": help,
      "aria-keyshortcuts": letter?.toUpperCase() ?? null,
      "data-keep": `tool-${name}`,
      dataset: { tool: name },
      onclick: (/** @type {MouseEvent} */ event) => {
        const taken = store.get().tool?.name === name;
        actions.tool(taken ? null : TOOLS[name]);
        // By keyboard the drawing is the next place to be.
        if (event.detail === 0 && !taken) focusOn("#stage");
      },
    },
    h(`span.glyph.${name}`, { "aria-hidden": "true" }),
  );
}

/** One of the buttons is reached by Tab, the others by arrow keys. @param {HTMLElement} root @param {HTMLButtonElement[]} buttons */
function roving(root, buttons) {
  const stop = (/** @type {HTMLElement} */ here) => buttons.forEach((one) => (one.tabIndex = one === here ? 0 : -1));
  stop(buttons[0]);
  root.addEventListener("focusin", ({ target }) => target instanceof HTMLElement && stop(target));
  root.addEventListener("keydown", (event) => {
    const at = buttons.findIndex((one) => one === event.target);
    const to = { ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: buttons.length - 1 }[event.key];
    if (to === undefined || at < 0) return;
    event.preventDefault();
    buttons[(to + buttons.length) % buttons.length].focus();
  });
}

/** The name of the tool under the pointer or the focus, beside the column: it scrolls, and would cut it off. @param {HTMLElement} root @param {HTMLElement} name */
function naming(root, name) {
  const show = (/** @type {Event} */ { target }) => {
    const button = target instanceof Element ? target.closest("button") : null;
    if (!button) return;
    const { title, letter } = TOOLS[button.dataset.tool ?? ""];
    name.replaceChildren(title, ...(letter ? [" ", h("kbd", {}, letter.toUpperCase())] : []));
    name.hidden = false;
    name.style.top = `${button.offsetTop - root.scrollTop}px`;
  };
  const hide = () => {
    name.hidden = true;
  };
  root.addEventListener("pointerover", (event) => event.pointerType !== "touch" && show(event));
  root.addEventListener("focusin", (event) => event.target instanceof Element && event.target.matches(":focus-visible") && show(event));
  for (const gone of ["pointerleave", "focusout", "scroll", "click"]) root.addEventListener(gone, hide);
}
