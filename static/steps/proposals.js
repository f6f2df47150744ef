/** Propose channels: what is wished for, the search while it runs, and what it found, to look at and to take. */

import { h } from "../dom.js";
import { format } from "../model/quantity.js";
import { button, field } from "../panels/form.js";
import { createSearch } from "../server/search.js";
import { LOOKS, STYLES, results, sentence, whole } from "./alternatives.js";
import { part } from "./parts.js";

/**
 * @typedef {import("./parts.js").Context} Context
 * @typedef {ReturnType<typeof createSearch>} Search
 */

/** What is asked for when nothing else is said: the program's own figures. */
const USUAL = {
  style: "",
  look: "",
  line_x_mm: null,
  line_y_mm: null,
  width_mm: null,
  loss: 1,
  length: 0.3,
  bends: 0.3,
  milling: 0,
  anew: false,
  seconds: 10,
};

/** @type {[string, Omit<import("../panels/form.js").Field, "label">, string][]} */
const OPTIONS = [
  [
    "style",
    {
      type: "choice",
      options: [["", "Try all"], ...Object.entries(STYLES)],
      help: "Square keeps to left–right and front–rear; at 45° cuts the corners; free pulls the line taut.",
    },
    "Style",
  ],
  [
    "look",
    {
      type: "choice",
      options: [["", "One of each"], ...Object.entries(LOOKS)],
      help: "What makes the courses look alike. It is a wish: walls and short ways can be against it.",
    },
    "Look",
  ],
  [
    "line_x_mm",
    { type: "length", optional: true, help: "Mirror about a line from front to rear, here. Empty: the line that fits best." },
    "Mirror line, from the left",
  ],
  [
    "line_y_mm",
    { type: "length", optional: true, help: "Mirror about a line from left to right, here." },
    "Mirror line, from the front",
  ],
  [
    "width_mm",
    { type: "length", optional: true, above: 0, most: 200, help: "Of every new channel. Empty: the widest that fits." },
    "Width",
  ],
  [
    "anew",
    { type: "yes", help: "Channels that are drawn and not locked are laid again, too." },
    "Lay drawn channels again",
  ],
  ["seconds", { type: "number", least: 1, most: 600, help: "Of work on a usual processor. A busy machine takes longer and finds the same." }, "Time, seconds"],
];

/** @type {["loss"|"length"|"bends"|"milling", string][]} */
const WEIGHTS = [
  ["loss", "Weight of low loss"],
  ["length", "Weight of short channels"],
  ["bends", "Weight of few bends"],
  ["milling", "Weight of short milling"],
];

/** @param {Context} context */
export function proposals(context) {
  const { store, local, api } = context;
  const { plate, document } = store.get();
  /** @type {Search} */
  const search = (local.search ??= createSearch({
    api,
    wait: (ms) => new Promise((done) => setTimeout(done, ms)),
    now: () => performance.now(),
    changed: () => changed(context, search),
  }));
  if (local.searchPlate !== plate?.id) {
    search.forget();
    Object.assign(local, { searchPlate: plate?.id, chosen: null, proposalWords: "" });
  }
  local.wishes ??= { ...USUAL };
  const { found } = search;
  const running = found.phase === "running";
  const asked = (document.loop?.connections ?? []).length > 0 || (local.wishes.anew && (document.channels ?? []).length > 0);
  const open = store.get().answer?.findings?.some((f) => f.rule === "connection-open");
  const start = () => {
    if (search.found.phase === "running") return;
    Object.assign(local, { chosen: null, proposalWords: "" });
    store.set({ preview: null });
    const { style, look, line_x_mm, line_y_mm, ...wishes } = local.wishes;
    // A line counts for symmetry alone; what was typed before stays for the next time.
    const line = look === "symmetry" ? { line_x_mm, line_y_mm } : {};
    void search.start(store.get().document, { ...wishes, ...line, style: style || null, look: look || null });
  };
  const shown = !running && found.answer ? results(context, found, found.answer) : null;
  const usable = found.answer && local.fresh && whole(found.answer).length > 0;
  return part(
    "Propose channels",
    h("p", {}, "The program lays channels for all connections under the rules. You choose which to take."),
    options(context),
    h(
      "div.actions-row",
      {},
      button(running ? "Searching…" : "Search for channels", start, {
        disabled: !asked && !running,
        // It keeps the focus while it is at work.
        "aria-disabled": running ? "true" : null,
        "aria-busy": running ? "true" : null,
        "data-keep": "propose",
        // What is said to be joined and is not: laying it is what comes next.
        class: open && !usable ? "do" : "",
      }),
      running && button("Cancel", () => search.cancel(), { "data-keep": "propose-cancel" }),
    ),
    !asked && h("p.quiet", {}, firstList(document)),
    running && h("p", { id: "search-progress" }, progressWords(found)),
    h(
      "div",
      { role: "status" },
      found.problem && h("p.problem", {}, found.problem),
      local.proposalWords && h("p", {}, local.proposalWords),
      !running && found.phase !== "none" && h("p", {}, endWords(found)),
    ),
    shown,
  );
}

/** What is missing for a search. @param {import("../types.js").PlateDocument} document */
const firstList = (document) =>
  `First list, under Connections, which ports are to be joined${(document.channels ?? []).length ? ", or have the drawn channels laid again" : ""}.`;

/** While it runs only the words change, so that nobody's field is redrawn. @param {Context} context @param {Search} search */
function changed({ again, local }, search) {
  const node = document.getElementById("search-progress");
  const same = local.shownPhase === search.found.phase && local.shownProblem === search.found.problem;
  Object.assign(local, { shownPhase: search.found.phase, shownProblem: search.found.problem });
  if (node && same) node.textContent = progressWords(search.found);
  else again();
}

/** @param {Context} context */
function options({ store, local, again }) {
  const { unit } = store.get();
  return h(
    "div.fields",
    {},
    OPTIONS.filter(([key]) => !key.startsWith("line_") || local.wishes.look === "symmetry").map(([key, spec, label]) =>
      field({ ...spec, label }, local.wishes[key], {
        unit,
        keep: `wish-${key}`,
        change: (next) => {
          local.wishes[key] = next;
          if (key === "look" || key === "anew") again();
        },
      }),
    ),
    WEIGHTS.map(([key, label]) => slider(local.wishes, key, label)),
  );
}

/** @param {Record<string, number>} wishes @param {string} key @param {string} label */
function slider(wishes, key, label) {
  const id = `weight-${key}`;
  const shown = h("output", { for: id }, format(wishes[key], "mm", 1));
  const input = h("input", {
    type: "range",
    id,
    min: "0",
    max: "1",
    step: "0.1",
    value: String(wishes[key]),
    "data-keep": id,
    oninput: () => {
      wishes[key] = Number(input.value);
      shown.textContent = format(wishes[key], "mm", 1);
    },
  });
  return h("div.weight", {}, h("label", { for: id }, label), input, shown);
}

/** @param {number} count @param {string} one */
const counted = (count, one) => `${count || "no"} ${one}${count === 1 ? "" : "s"}`;

/** @param {import("../types.js").ProposalFigures} one */
const figures = (one) =>
  `${format(one.loss_kpa, "mm", 2)} kPa, ${format(one.length_mm, "mm", 0)} mm long, ${counted(one.bends, "bend")}, ${counted(one.counts.error, "error")}`;

/** @param {import("../server/search.js").Found} found */
function progressWords({ attempts, begun, answer }) {
  const best = answer?.channels.length ? `Best so far: ${figures(answer)}.` : "Nothing found so far.";
  return `${sentence(counted(attempts, "attempt"))} in ${Math.round((performance.now() - begun) / 1000)} s. ${best}`;
}

/** @param {import("../server/search.js").Found} found */
function endWords({ phase, answer, attempts }) {
  const many = answer?.alternatives.filter((one) => one.channels.length).length ?? 0;
  const how = phase === "cancelled" ? "Cancelled" : phase === "failed" ? "Ended" : "Done";
  const what = many ? counted(many, "alternative") : "nothing found that passes every rule";
  const late = answer?.late ? " This computer was too slow for the whole search: with more seconds it may find better." : "";
  const few = answer?.few ? ` ${answer.few}` : "";
  return `${how} after ${counted(attempts, "attempt")}: ${what}.${few}${late}`;
}
