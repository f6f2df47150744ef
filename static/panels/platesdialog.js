/** The plates: the first minute, those that are stored, and files that are opened. */

import { h } from "../dom.js";
import { sentence } from "../server/api.js";
import { dialog } from "./dialogs.js";
import { fieldOf } from "./fields.js";
import { fileChooser } from "./filechooser.js";
import { button, field, once, readValue } from "./form.js";

/**
 * @typedef {import("../types.js").Api} Api
 * @typedef {import("../types.js").ListedPlate} ListedPlate
 * @typedef {(plate: import("../types.js").StoredPlate) => void} Opened
 */

/** What a first plate needs, and what each begins with, mm. @type {[import("./fields.js").Field, number|string][]} */
const START = [
  [fieldOf("Document", "name", "It stands on every drawing and names every file.", { label: "Name" }), ""],
  [
    fieldOf(
      "Rectangle",
      "width_mm",
      "Left to right between the inner walls, at the floor. A steel rule or a caliper is surer than a tape's hook.",
      {
        label: "Width inside",
      },
    ),
    400,
  ],
  [fieldOf("Rectangle", "depth_mm", "Front to rear between the inner walls, at the floor.", { label: "Depth inside" }), 300],
  [
    fieldOf(
      "Plate",
      "body_thickness_mm",
      "The sheet the channels are milled into. A G1/4 thread and a channel under it need 15 to 20 mm.",
      { label: "Body thickness" },
    ),
    20,
  ],
];

/** A line for what went wrong. @returns {{line: HTMLElement, say: (words: string) => void}} */
function problemLine() {
  const line = h("p.problem", { role: "alert", hidden: true });
  return {
    line,
    say(words) {
      line.textContent = words;
      line.hidden = !words;
    },
  };
}

/** The first minute: three numbers, or the demo. @param {{api: Api, opened: Opened, begun: Opened, unit: import("../types.js").Unit}} parts begun: a plate of one's own, from nothing */
export function startDialog({ api, opened, begun, unit }) {
  const problem = problemLine();
  /** @param {Parameters<Api["create"]>[0]} what */
  async function make(what) {
    try {
      const plate = await api.create(what);
      if ("start" in what) begun(plate);
      else opened(plate);
      box.close();
    } catch (error) {
      problem.say(sentence(error));
    }
  }
  const box = dialog(
    "A new plate",
    [
      h(
        "div.two-ways",
        {},
        startForm(unit, problem, (start) => once(make, () => make({ start }))),
        demos((example) => once(make, () => make({ example }))),
      ),
    ],
    { class: "wide" },
  );
  box.querySelector("input")?.focus();
}

/** @param {import("../types.js").Unit} unit @param {ReturnType<typeof problemLine>} problem @param {(start: Record<string, number|string>) => void} make */
function startForm(unit, problem, make) {
  const fields = START.map(([spec, first]) =>
    field(spec, first, { unit, keep: `start-${spec.path[0]}`, change: () => {} }),
  );
  const submit = (/** @type {Event} */ event) => {
    event.preventDefault();
    /** @type {Record<string, number|string>} */
    const start = {};
    for (const [i, [spec]] of START.entries()) {
      const input = fields[i].querySelector("input");
      if (!input) continue;
      const read = readValue(spec, input, unit);
      if ("problem" in read) {
        problem.say(`${spec.label}: ${read.problem}`);
        input.focus();
        return;
      }
      start[spec.path[0]] = spec.type === "text" ? String(read.value ?? "") : Number(read.value);
    }
    make(start);
  };
  return h(
    "form",
    { class: "start", novalidate: true, onsubmit: submit },
    h(
      "p",
      {},
      "A name and three sizes are enough to begin, and all can be changed later. Sums (12 + 3) and inches (3/4 in) are understood.",
    ),
    h("div.fields", {}, fields),
    problem.line,
    h(
      "div.actions-row",
      {},
      h(
        "button.do",
        // The field keeps the focus, so that nothing moves under the pointer before the click is done.
        { type: "submit", onmousedown: (event) => event.preventDefault() },
        "Begin this plate",
      ),
    ),
  );
}

/** @param {(example: string) => void} open */
const demos = (open) =>
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
      "div.actions-row",
      {},
      button("Open the demo", () => open("riser-bench")),
      button("A small board", () => open("small-board")),
      button("One that is wrong on purpose", () => open("wrong-on-purpose")),
    ),
  );

/**
 * @typedef {{api: Api, opened: Opened, current: () => {id: string, state?: number}|null, fresh: () => void,
 *   left: () => {id: string, count: number}[]}} Parts  left: edits that wait in this browser
 * @typedef {Parts & {box: HTMLDialogElement, again: () => Promise<void>}} Shown
 */

/** @param {Parts} parts */
export async function platesDialog(parts) {
  const body = h("div", {}, h("p.quiet", {}, "Loading…"));
  const box = dialog("Plates", [body], { class: "wide" });
  const again = async () => {
    try {
      const { plates } = await parts.api.plates();
      body.replaceChildren(...listed({ ...parts, box, again }, plates));
    } catch (error) {
      body.replaceChildren(h("p.problem", {}, sentence(error)));
    }
  };
  await again();
}

/** @param {Shown} parts @param {ListedPlate[]} plates */
function listed(parts, plates) {
  const { api, box, current, fresh } = parts;
  const here = current()?.id;
  const problem = problemLine();
  return [
    h(
      "div.actions-row",
      {},
      button(
        "A new plate",
        () => {
          box.close();
          fresh();
        },
        { class: "do" },
      ),
      here &&
        h(
          "a.button",
          { href: api.href(here, "document.json", { state: String(current()?.state ?? 0) }), download: "" },
          "Save the open one as a file",
        ),
    ),
    h("p.line", {}, h("label", { for: "open-file" }, "Open a plate document"), fileInput(parts, problem.say)),
    problem.line,
    plates.length
      ? h(
          "table.wide",
          {},
          h("caption", {}, "Stored on this machine"),
          h(
            "thead",
            {},
            h(
              "tr",
              {},
              ["Name", "Last changed", "State", "Actions"].map((w) => h("th", { scope: "col" }, w)),
            ),
          ),
          h(
            "tbody",
            {},
            plates.map((plate) => row(parts, plate, here)),
          ),
        )
      : h("p.quiet", {}, "None yet."),
  ];
}

/** A document opened from a file becomes a plate of its own. @param {Shown} parts @param {(words: string) => void} complain */
const fileInput = ({ api, opened, box }, complain) =>
  fileChooser({
    accept: ".json,application/json",
    id: "open-file",
    onchange: async (event) => {
      const file = event.currentTarget.files?.[0];
      if (!file) return;
      try {
        opened(await api.create({ document: JSON.parse(await file.text()) }));
        box.close();
      } catch (error) {
        complain(error instanceof SyntaxError ? `The file is no JSON: ${error.message}` : sentence(error));
      }
    },
  });

/** @param {Shown} parts @param {ListedPlate} plate @param {string|undefined} here */
function row(parts, plate, here) {
  const { api } = parts;
  const fault = plate.fault
    ? h(
        "span.problem",
        {},
        `${plate.fault} `,
        h("a", { href: api.href(plate.id, "document.json"), download: "" }, "Save its file"),
      )
    : null;
  return h(
    "tr",
    {},
    h(
      "th",
      { scope: "row" },
      plate.name || `Plate ${plate.id}`,
      plate.id === here ? h("span.quiet", {}, " (open)") : null,
    ),
    h("td", {}, when(plate.changed)),
    h("td", {}, fault ?? [plate.deleted ? "archived" : "", waiting(parts, plate)].filter(Boolean).join("; ")),
    h("td.row-actions", {}, rowButtons(parts, plate, plate.id === here)),
  );
}

/** What waits in this browser of a plate. @param {Shown} parts @param {ListedPlate} plate */
function waiting({ left }, plate) {
  const count = left().reduce((sum, one) => sum + (one.id === String(plate.id) ? one.count : 0), 0);
  return count ? `${count === 1 ? "1 change" : `${count} changes`} not saved yet` : "";
}

/** @param {Shown} parts @param {ListedPlate} plate @param {boolean} here */
function rowButtons({ api, opened, box, again }, plate, here) {
  const name = plate.name || `plate ${plate.id}`;
  /** @param {string} words @param {() => Promise<unknown>} act @param {boolean} [disabled] */
  const act = (words, act, disabled = false) =>
    button(words, () => act().then(again), { "aria-label": `${words} ${name}`, disabled });
  if (plate.deleted) return act("Restore", () => api.restore(plate.id));
  return [
    button(
      "Open",
      async () => {
        opened(await api.open(plate.id));
        box.close();
      },
      { "aria-label": `Open ${name}`, disabled: here || Boolean(plate.fault) },
    ),
    act("Archive", () => api.remove(plate.id), here),
  ];
}

/** @param {string} text */
function when(text) {
  const date = new Date(text);
  return Number.isNaN(date.getTime())
    ? text
    : date.toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}
