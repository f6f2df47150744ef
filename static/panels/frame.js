/** The page's fixed parts: the buttons at its head and under the drawing, the tabs, the name, the tool in use. */

import { byId, h } from "../dom.js";
import { TOOLS } from "../canvas/tools.js";

/**
 * @typedef {import("../types.js").Store} Store
 * @typedef {import("../types.js").Actions} Actions
 */

/** What each button does, by its id. @param {Record<string, () => unknown>} acts */
export function wireButtons(acts) {
  for (const [id, act] of Object.entries(acts)) byId(id).addEventListener("click", () => act());
}

/** The tool that measures is at hand under the drawing, too. @param {Store} store @param {Actions} actions */
export const toggleMeasure = (store, actions) =>
  actions.tool(store.get().tool?.name === "measure" ? null : TOOLS.measure);

/** The tabs of the lower right part. @param {Store} store @returns {(name: string) => void} shows one */
export function createTabs(store) {
  const tabs = [
    { name: "selected", tab: byId("tab-selected"), panel: byId("item-panel") },
    { name: "items", tab: byId("tab-items"), panel: byId("items") },
  ];
  const show = (/** @type {string} */ name) => {
    for (const { name: key, tab, panel } of tabs) {
      tab.setAttribute("aria-selected", String(key === name));
      tab.tabIndex = key === name ? 0 : -1;
      panel.hidden = key !== name;
    }
    store.set({ tab: name });
  };
  tabs.forEach(({ name, tab }, i) => {
    tab.addEventListener("click", () => show(name));
    tab.addEventListener("keydown", (event) => {
      if (event.key !== "ArrowLeft" && event.key !== "ArrowRight") return;
      const other = tabs[1 - i];
      show(other.name);
      other.tab.focus();
    });
  });
  store.watch(["selection"], (now) => {
    if (!now.selection.length) return;
    // The list that was chosen from by keyboard is gone: one goes on with what it was chosen for.
    const left = tabs[1].panel.querySelector(":focus-visible");
    show("selected");
    if (left) tabs[0].tab.focus({ preventScroll: true });
  });
  return show;
}

/** The plate's name, in its field and in the window's title. @param {Store} store @param {Actions} actions */
export function createName(store, actions) {
  const field = byId("plate-name", HTMLInputElement);
  field.addEventListener("change", () => actions.edit("Name the plate", (d) => ({ ...d, name: field.value.trim() })));
  store.watch(["document"], ({ document: plate }) => {
    const words = plate?.name ?? "";
    if (document.activeElement !== field) field.value = words;
    document.title = words ? `${words} – plate sketcher` : "Plate sketcher";
  });
}

/** What the tool in use wants, over the drawing. @param {Store} store @param {Actions} actions @param {SVGSVGElement} svg */
export function createToolBar(store, actions, svg) {
  const bar = byId("tool-bar");
  store.watch(["tool", "heights"], ({ tool, heights }) => {
    byId("measure-button").setAttribute("aria-pressed", String(tool?.name === "measure"));
    byId("heights").setAttribute("aria-pressed", String(heights));
    bar.hidden = !tool;
    bar.replaceChildren();
    if (tool)
      bar.append(
        h("strong", {}, tool.title),
        ` ${tool.help} `,
        h("button", { type: "button", onclick: () => actions.tool(null) }, "Cancel"),
      );
    svg.classList.toggle("with-tool", Boolean(tool));
  });
}

/** What would be undone and redone, on the buttons. @param {import("../types.js").Plate} plate */
export function labelHistory({ canUndo, canRedo }) {
  const held = document.activeElement?.id ?? "";
  for (const { id, words, label, keys } of [
    { id: "undo", words: "Undo", label: canUndo, keys: "Ctrl Z" },
    { id: "redo", words: "Redo", label: canRedo, keys: "Ctrl Shift Z" },
  ]) {
    const button = byId(id, HTMLButtonElement);
    button.disabled = !label;
    button.title = label ? `${words}: ${label} (${keys})` : keys;
  }
  // The last step takes its own button away: the other one is beside it.
  const other = { undo: "redo", redo: "undo" }[held];
  if (other && byId(held, HTMLButtonElement).disabled) byId(other).focus();
}

/** Whether all is saved. @param {import("../server/sync.js").Link} link @param {number} waiting edits that are not saved yet @param {string} [why] why nothing is kept */
export function showLink(link, waiting, why = "") {
  const changes = waiting === 1 ? "1 change" : `${waiting} changes`;
  const words = {
    saved: "Saved",
    saving: "Saving…",
    away: why ? `Offline: ${changes}. ${why}.` : `Offline: ${changes} stored`,
    stuck: `Not saved. ${why}. ${changes} waiting.`,
    conflict: "Changed in another window",
  };
  const sign = byId("link-sign");
  sign.textContent = words[link];
  sign.title = why ? words[link] : "";
  sign.dataset.why = why ? "said" : "";
  sign.dataset.link = link;
}

/** Light or dark, as chosen or as the machine is set. @param {Store} store */
export function createTheme(store) {
  const show = () => {
    const { theme } = store.get();
    if (theme === "auto") delete document.documentElement.dataset.theme;
    else document.documentElement.dataset.theme = theme;
  };
  store.watch(["theme"], show);
  show();
}
