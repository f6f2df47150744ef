/** Dialogs: the first minute, the plates, keys, view settings, and what to do when a plate was changed elsewhere. */

import { sentence } from "../server/api.js";
import { h } from "../dom.js";
import { button } from "./form.js";
import { SHORTCUTS } from "../canvas/shortcuts.js";

/**
 * A modal dialog; it goes when it is closed.
 * @param {string} title @param {import("../types.js").Child[]} content @param {{closable?: boolean, class?: string}} [options]
 */
export function dialog(title, content, { closable = true, class: kind } = {}) {
  const id = `dialog-${title.replace(/\W+/g, "-").toLowerCase()}`;
  const box = h("dialog", { "aria-labelledby": id, class: kind ?? null });
  box.append(
    h(
      "header.dialog-head",
      {},
      h("h2", { id }, title),
      closable ? button("Close", () => box.close(), { class: "quiet-button" }) : null,
    ),
    h("div.dialog-body", {}, ...content),
  );
  box.addEventListener("close", () => box.remove());
  if (!closable) box.addEventListener("cancel", (event) => event.preventDefault());
  document.body.append(box);
  box.showModal();
  return box;
}

export function shortcutsDialog() {
  dialog(
    "Shortcuts",
    [
      h(
        "div.key-sheet",
        {},
        SHORTCUTS.map(([title, rows]) =>
          h(
            "section",
            {},
            h("h3", {}, title),
            h(
              "dl.keys",
              {},
              rows.map(([keys, words]) => [
                h(
                  "dt",
                  {},
                  keys.split(" | ").map((k, i) => [i ? " " : null, h("kbd", {}, k)]),
                ),
                h("dd", {}, words),
              ]),
            ),
          ),
        ),
      ),
    ],
    { class: "wide" },
  );
}

/**
 * The plate was changed in another window too: nothing is overwritten before the user has chosen.
 * @param {{differences: string[], choose: (choice: "mine"|"theirs"|"copy") => Promise<void>}} parts
 */
export function conflictDialog({ differences, choose }) {
  const problem = h("p.problem", { role: "alert", hidden: true });
  /** @param {"mine"|"theirs"|"copy"} choice */
  const pick = (choice) => async () => {
    try {
      await choose(choice);
      box.close();
    } catch (error) {
      problem.textContent = sentence(error);
      problem.hidden = false;
    }
  };
  const box = dialog(
    "Changed in another window",
    [
      h("p", {}, "This plate was changed somewhere else while you changed it here. Both are safe until you choose."),
      differences.length
        ? h(
            "p",
            {},
            `They differ in: ${differences.slice(0, 12).join(", ")}${differences.length > 12 ? " and more" : ""}.`,
          )
        : null,
      h(
        "dl.choices",
        {},
        h("dt", {}, button("Keep both", pick("copy"), { class: "do" })),
        h("dd", {}, "Yours becomes a plate of its own; the other stays as it is."),
        h("dt", {}, button("Keep mine", pick("mine"))),
        h("dd", {}, "Yours is saved on top. Undo goes back to the other."),
        h("dt", {}, button("Take the other", pick("theirs"))),
        h("dd", {}, "Your changes since then are discarded."),
      ),
      problem,
    ],
    { closable: false },
  );
  return box;
}

/** @param {{store: import("../types.js").Store}} parts */
export function settingsDialog({ store }) {
  const { unit, theme } = store.get();
  dialog("Settings", [
    radios("unit", "Show lengths in", { mm: "Millimetres", in: "Inches (kept in mm, exactly)" }, unit, (v) =>
      store.set({ unit: v }),
    ),
    radios("theme", "Light or dark", { auto: "Match system", light: "Light", dark: "Dark" }, theme, (v) =>
      store.set({ theme: v }),
    ),
    h("p.quiet", {}, "The drawing prints in plain ink, with the findings beneath it."),
    button("Print the drawing", () => {
      document.querySelector("dialog")?.close();
      window.print();
    }),
  ]);
}

/**
 * @template {string} V
 * @param {string} name @param {string} words @param {Record<V, string>} options @param {V} value @param {(value: V) => void} change
 */
const radios = (name, words, options, value, change) =>
  h(
    "fieldset",
    {},
    h("legend", {}, words),
    /** @type {[V, string][]} */ (Object.entries(options)).map(([key, label]) =>
      h(
        "label.check",
        {},
        h("input", { type: "radio", name, value: key, checked: key === value, onchange: () => change(key) }),
        ` ${label}`,
      ),
    ),
  );
