/** Choosing a file, in the page's own style: the browser's own button speaks another language and looks like no other. */

import { h } from "../dom.js";

/**
 * The field lies over the words, unseen: a press, a file dropped on it and the keyboard all reach it, and it keeps its name.
 * @param {import("../types.js").PropsOf<"input">} props of the field: `id` or `aria-label`, `accept`, `onchange`
 * @param {string} [words]
 */
export function fileChooser(props, words = "Choose a file…") {
  const name = h("span.file-name", {});
  const input = h("input", { type: "file", ...props });
  input.addEventListener("change", () => {
    name.textContent = input.files?.[0]?.name ?? "";
  });
  return h("span.file-choice", {}, h("span.file-field", {}, input, h("span.button", { "aria-hidden": "true" }, words)), name);
}
