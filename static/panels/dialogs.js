/** Dialogs: the first minute, the plates, keys, view settings, and what to do when a plate was changed elsewhere. */

import { Away, Refused } from "../server/api.js";
import { h } from "../dom.js";
import { button, field, readValue } from "./form.js";
import { SHEET } from "../canvas/shortcuts.js";

/**
 * A modal dialog; it goes when it is closed. @param {string} title @param {any[]} content @param {{closable?: boolean, class?: string}} [options]
 */
export function dialog(title, content, { closable = true, ...more } = {}) {
  const id = `dialog-${title.replace(/\W+/g, "-").toLowerCase()}`;
  const box = h(
    "dialog",
    { "aria-labelledby": id, class: more.class ?? null },
    h(
      "header.dialog-head",
      {},
      h("h2", { id }, title),
      closable ? button("Close", () => box.close(), { class: "quiet-button" }) : null,
    ),
    h("div.dialog-body", {}, ...content),
  );
  box.addEventListener("close", () => box.remove());
  if (!closable) box.addEventListener("cancel", (/** @type {Event} */ event) => event.preventDefault());
  document.body.append(box);
  box.showModal();
  return box;
}

/** @param {unknown} error */
export const sentence = (error) =>
  error instanceof Refused || error instanceof Away
    ? `${error.message}${
        error instanceof Refused && error.faults[0]
          ? ` ${error.faults
              .map((/** @type {any} */ f) => `${f.pointer || "/"}: ${f.message}`)
              .slice(0, 3)
              .join("; ")}`
          : ""
      }`
    : "Something went wrong in the page. Nothing is lost; load the page again.";

/** @type {any[]} */
const START = [
  {
    path: ["width_mm"],
    label: "Floor, left to right",
    type: "length",
    above: 0,
    help: "Between the inner walls, at the floor. A tape's hook gives; a steel rule or a caliper is surer.",
  },
  {
    path: ["depth_mm"],
    label: "Floor, front to rear",
    type: "length",
    above: 0,
    help: "Between the inner walls, at the floor.",
  },
  {
    path: ["body_thickness_mm"],
    label: "Body of the plate",
    type: "length",
    above: 0,
    help: "The sheet the channels are milled into. A G1/4 thread and a channel under it want 15 to 20 mm.",
  },
];

/**
 * The first minute: three numbers, or the demo. @param {{api: any, opened: (plate: any) => void, unit: "mm"|"in"}} parts
 */
export function startDialog({ api, opened, unit }) {
  const usual = { width_mm: 400, depth_mm: 300, body_thickness_mm: 20 };
  const problem = h("p.problem", { role: "alert", hidden: true });
  const fields = START.map((spec) =>
    field(spec, usual[/** @type {keyof typeof usual} */ (spec.path[0])], {
      unit,
      keep: `start-${spec.path[0]}`,
      change: () => {},
    }),
  );
  /** @param {any} what */
  async function make(what) {
    try {
      opened(await api.create(what));
      box.close();
    } catch (error) {
      problem.textContent = sentence(error);
      problem.hidden = false;
    }
  }
  const form = h(
    "form",
    {
      class: "start",
      novalidate: true,
      onsubmit: (/** @type {Event} */ event) => {
        event.preventDefault();
        /** @type {Record<string, number>} */
        const start = {};
        for (const [i, spec] of START.entries()) {
          const input = fields[i].querySelector("input");
          const read = readValue(spec, input, unit);
          if ("problem" in read) {
            problem.textContent = `${spec.label}: ${read.problem}`;
            problem.hidden = false;
            input.focus();
            return;
          }
          start[spec.path[0]] = read.value;
        }
        void make({ start });
      },
    },
    h("p", {}, "Three numbers make a first plate. All of them can be changed later; sums and inches are understood."),
    h("div.fields", {}, fields),
    problem,
    h(
      "div.doings",
      {},
      h(
        "button.do",
        // The field keeps the focus, so that nothing moves under the pointer before the click is done.
        { type: "submit", onmousedown: (/** @type {Event} */ event) => event.preventDefault() },
        "Begin this plate",
      ),
    ),
  );
  const box = dialog(
    "A new plate",
    [
      h(
        "div.two-ways",
        {},
        form,
        h(
          "section.demo",
          {},
          h("h3", {}, "Or look around first"),
          h(
            "p",
            {},
            "The demo is an invented machine: a wide board on edge, a card on a riser, two radiators, and a plate that joins them.",
          ),
          h(
            "div.doings",
            {},
            button("Open the demo", () => make({ example: "riser-bench" }), { class: "do" }),
            button("A small board", () => make({ example: "small-board" })),
            button("One that is wrong on purpose", () => make({ example: "wrong-on-purpose" })),
          ),
        ),
      ),
    ],
    { class: "wide" },
  );
  return box;
}

/** @param {{api: any, opened: (plate: any) => void, current: () => any, fresh: () => void}} parts */
export async function platesDialog({ api, opened, current, fresh }) {
  const body = h("div", {}, h("p.quiet", {}, "Looking…"));
  const box = dialog("Plates", [body], { class: "wide" });
  async function draw() {
    try {
      const { plates } = await api.plates();
      const here = current()?.id;
      const rows = plates.map((/** @type {any} */ p) =>
        h(
          "tr",
          {},
          h("th", { scope: "row" }, p.name || `Plate ${p.id}`, p.id === here ? h("span.quiet", {}, " (open)") : null),
          h("td", {}, when(p.changed)),
          h(
            "td",
            {},
            p.fault
              ? h(
                  "span.problem",
                  {},
                  `${p.fault} `,
                  h("a", { href: api.href(p.id, "document.json"), download: "" }, "Save its file"),
                )
              : p.deleted
                ? "put away"
                : "",
          ),
          h(
            "td.row-doings",
            {},
            p.deleted
              ? button(
                  "Take back",
                  async () => {
                    await api.restore(p.id);
                    await draw();
                  },
                  { "aria-label": `Take back ${p.name || `plate ${p.id}`}` },
                )
              : [
                  button(
                    "Open",
                    async () => {
                      opened(await api.open(p.id));
                      box.close();
                    },
                    { "aria-label": `Open ${p.name || `plate ${p.id}`}`, disabled: p.id === here || Boolean(p.fault) },
                  ),
                  button(
                    "Put away",
                    async () => {
                      await api.remove(p.id);
                      await draw();
                    },
                    { "aria-label": `Put away ${p.name || `plate ${p.id}`}`, disabled: p.id === here },
                  ),
                ],
          ),
        ),
      );
      const file = h("input", {
        type: "file",
        accept: ".json,application/json",
        id: "open-file",
        onchange: async () => {
          try {
            const text = await file.files[0].text();
            opened(await api.create({ document: JSON.parse(text) }));
            box.close();
          } catch (error) {
            problem.textContent =
              error instanceof SyntaxError ? `The file is no JSON: ${error.message}` : sentence(error);
            problem.hidden = false;
          }
        },
      });
      const problem = h("p.problem", { role: "alert", hidden: true });
      body.replaceChildren(
        h(
          "div.doings",
          {},
          button(
            "A new plate",
            () => {
              box.close();
              fresh();
            },
            { class: "do" },
          ),
          h(
            "a.button",
            { href: here ? api.href(here, "document.json") : "#", download: "" },
            "Save the open one as a file",
          ),
        ),
        h("p.inline", {}, h("label", { for: "open-file" }, "Open a plate document: "), file),
        problem,
        plates.length
          ? h(
              "table.wide",
              {},
              h("caption", {}, "Kept on this machine"),
              h(
                "thead",
                {},
                h(
                  "tr",
                  {},
                  ["Name", "Last changed", "", ""].map((w) =>
                    h("th", { scope: "col" }, w || h("span.unseen", {}, "Actions")),
                  ),
                ),
              ),
              h("tbody", {}, rows),
            )
          : h("p.quiet", {}, "None yet."),
      );
    } catch (error) {
      body.replaceChildren(h("p.problem", {}, sentence(error)));
    }
  }
  await draw();
}

/** @param {string} text */
function when(text) {
  const date = new Date(text);
  return Number.isNaN(date.getTime())
    ? String(text ?? "")
    : date.toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}

export function keysDialog() {
  dialog(
    "Keys",
    [
      h(
        "div.key-sheet",
        {},
        SHEET.map(([title, rows]) =>
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
        h("dd", {}, "What you changed here since is given up."),
      ),
      problem,
    ],
    { closable: false },
  );
  return box;
}

/** @param {{store: any}} parts */
export function viewDialog({ store }) {
  const { unit, theme } = store.get();
  const radios = (
    /** @type {string} */ name,
    /** @type {string} */ words,
    /** @type {[string, string][]} */ options,
    /** @type {string} */ value,
    /** @type {(v: any) => void} */ change,
  ) =>
    h(
      "fieldset",
      {},
      h("legend", {}, words),
      options.map(([key, label]) =>
        h(
          "label.check",
          {},
          h("input", { type: "radio", name, value: key, checked: key === value, onchange: () => change(key) }),
          ` ${label}`,
        ),
      ),
    );
  dialog("View", [
    radios(
      "unit",
      "Lengths are shown in",
      [
        ["mm", "Millimetres"],
        ["in", "Inches (kept in mm, exactly)"],
      ],
      unit,
      (v) => store.set({ unit: v }),
    ),
    radios(
      "theme",
      "Light or dark",
      [
        ["auto", "As the machine is set"],
        ["light", "Light"],
        ["dark", "Dark"],
      ],
      theme,
      (v) => store.set({ theme: v }),
    ),
    h("p.quiet", {}, "The drawing prints in plain ink, with the findings beneath it."),
    button("Print the drawing", () => {
      document.querySelector("dialog")?.close();
      window.print();
    }),
  ]);
}
