/** Copy, cut and paste with the system's own keys, between plates and windows. */

import { clipboardText, pasted, readClipboard } from "../model/clipboard.js";

/** Whether the keys belong to a field that is being typed in, or to words that are marked. */
const inText = () =>
  document.activeElement?.matches("input, textarea, select, [contenteditable]") ||
  Boolean(window.getSelection()?.toString()) ||
  Boolean(document.querySelector("dialog[open]"));

/** @param {{store: import("../types.js").Store, actions: import("../types.js").Actions}} parts */
export function createClipboard({ store, actions }) {
  /** @param {ClipboardEvent} event @returns {boolean} whether anything was taken */
  const taken = (event) => {
    if (inText()) return false;
    const { document: plate, selection } = store.get();
    const text = plate ? clipboardText(plate, selection) : "";
    if (!text) return false;
    event.clipboardData?.setData("text/plain", text);
    event.preventDefault();
    return true;
  };
  document.addEventListener("copy", (event) => {
    if (taken(event)) actions.say(`Copied ${store.get().selection.join(", ")}. Paste it here or in another plate.`);
  });
  document.addEventListener("cut", (event) => {
    if (taken(event)) actions.remove();
  });
  document.addEventListener("paste", (event) => {
    const { document: plate } = store.get();
    if (!plate || inText()) return;
    const found = readClipboard(event.clipboardData?.getData("text/plain") ?? "");
    if (!found) return;
    event.preventDefault();
    if ("problem" in found) return actions.say(found.problem);
    const made = pasted(plate, found.entries);
    if (!made.ids.length) return actions.say("Nothing in the clipboard can stand in this plate by itself.");
    actions.commit(made.document, `Paste ${made.ids.join(", ")}`, { selection: made.ids });
    return actions.say(`Pasted ${made.ids.join(", ")}.`);
  });
}
