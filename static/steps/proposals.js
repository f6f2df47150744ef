/** Propose channels: what is wished for, the search while it runs, and what it found, to look at and to take. */

import { h } from "../dom.js";
import { inWords } from "../model/connections.js";
import { move } from "../model/edit.js";
import { format } from "../model/quantity.js";
import { sameContent } from "../model/same.js";
import { button, field } from "../panels/form.js";
import { createSearch } from "../server/search.js";
import { part } from "./parts.js";
import { way } from "./trial.js";

/**
 * @typedef {import("./parts.js").Context} Context
 * @typedef {import("../types.js").Alternative} Alternative
 * @typedef {ReturnType<typeof createSearch>} Search
 */

/** @type {Record<string, string>} */
const STYLES = { square: "Square", diagonal: "At 45°", free: "Free" };

/** What is asked for when nothing else is said: the program's own figures. */
const USUAL = { style: "", width_mm: null, loss: 1, length: 0.3, bends: 0.3, milling: 0, anew: false, seconds: 10 };

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
    "width_mm",
    { type: "length", optional: true, above: 0, most: 200, help: "Of every new channel. Empty: the widest that fits." },
    "Width",
  ],
  [
    "anew",
    { type: "yes", help: "Channels that are drawn and not locked are laid again, too." },
    "Lay drawn channels again",
  ],
  ["seconds", { type: "number", least: 1, most: 600, help: "The search ends by then." }, "Time, seconds"],
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
  const start = () => {
    Object.assign(local, { chosen: null, proposalWords: "" });
    store.set({ preview: null });
    const { style, ...wishes } = local.wishes;
    void search.start(store.get().document, { ...wishes, style: style || null });
  };
  return part(
    "Propose channels",
    h("p", {}, "The program lays channels for all connections under the rules. You choose which to take."),
    options(context),
    h(
      "div.actions-row",
      {},
      button(running ? "Searching…" : "Search for channels", start, {
        disabled: running || !(document.loop?.connections ?? []).length,
        "data-keep": "propose",
      }),
      running && button("Cancel", () => search.cancel(), { "data-keep": "propose-cancel" }),
    ),
    !(document.loop?.connections ?? []).length &&
      h("p.quiet", {}, "Say first, under Connections, which ports are to be joined."),
    running && h("p", { id: "search-progress" }, progressWords(found)),
    h(
      "div",
      { role: "status" },
      found.problem && h("p.problem", {}, found.problem),
      local.proposalWords && h("p", {}, local.proposalWords),
      !running && found.phase !== "none" && h("p", {}, endWords(found)),
    ),
    !running && found.answer ? results(context, found, found.answer) : null,
  );
}

/** While it runs only the words change, so that nobody's field is redrawn. @param {Context} context @param {Search} search */
function changed({ again, local }, search) {
  const node = document.getElementById("search-progress");
  const same = local.shownPhase === search.found.phase && local.shownProblem === search.found.problem;
  Object.assign(local, { shownPhase: search.found.phase, shownProblem: search.found.problem });
  if (node && same) node.textContent = progressWords(search.found);
  else again();
}

/** @param {Context} context */
function options({ store, local }) {
  const { unit } = store.get();
  return h(
    "div.fields",
    {},
    OPTIONS.map(([key, spec, label]) =>
      field({ ...spec, label }, local.wishes[key], {
        unit,
        keep: `wish-${key}`,
        change: (next) => {
          local.wishes[key] = next;
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
  return `${counted(attempts, "attempt")} in ${Math.round((performance.now() - begun) / 1000)} s. ${best}`;
}

/** @param {import("../server/search.js").Found} found */
function endWords({ phase, answer, attempts }) {
  const many = answer?.alternatives.filter((one) => one.channels.length).length ?? 0;
  const how = phase === "cancelled" ? "Cancelled" : phase === "failed" ? "Ended" : "Done";
  return `${how} after ${counted(attempts, "attempt")}: ${counted(many, "alternative")}.`;
}

/** @param {Context} context @param {import("../server/search.js").Found} found @param {import("../types.js").ProposalAnswer} answer */
function results(context, found, answer) {
  const { store, local } = context;
  const { document } = store.get();
  if (local.comparedWith !== document || local.comparedOf !== found.of)
    Object.assign(local, { comparedWith: document, comparedOf: found.of, fresh: sameContent(document, found.of) });
  if (!local.fresh) {
    if (store.get().preview) store.set({ preview: null });
    return h("p.quiet", {}, "The plate has changed since this search. Search again, or undo the change.");
  }
  const list = answer.alternatives.filter((one) => one.channels.length);
  return [list.length > 0 && alternatives(context, list), answer.unconnected.map((one) => stuck(context, one))];
}

/** @param {Context} context @param {Alternative[]} list */
function alternatives({ store, actions, local, again }, list) {
  const wanted = (store.get().document.loop?.connections ?? []).length;
  const all = (/** @type {Alternative} */ one) =>
    one.connected.length < wanted ? `, ${one.connected.length} of ${wanted} connections joined` : "";
  const use = () => {
    const chosen = list[local.chosen];
    if (!chosen || !local.fresh) return;
    local.proposalWords = `Taken: ${chosen.channels.join(", ")}. Undo takes the whole proposal back.`;
    local.chosen = null;
    actions.commit(chosen.document, "Use proposed channels", { preview: null });
  };
  return h(
    "fieldset",
    {},
    h("legend", {}, "Alternatives"),
    list.map((one, index) =>
      h(
        "label.choice",
        {},
        h("input", {
          type: "radio",
          name: "alternative",
          checked: local.chosen === index,
          "data-keep": `alternative-${index}`,
          onchange: () => {
            local.chosen = index;
            store.set({ preview: one.document });
            again();
          },
        }),
        `${STYLES[one.style] ?? one.style}, ${format(one.width_mm, "mm", 1)} mm wide: ${figures(one)}${all(one)}`,
      ),
    ),
    h(
      "p.quiet",
      {},
      `Losses at ${format(list[0].flow_l_min, "mm", 1)} l/min. Straight lines between the ports would lose ${format(list[0].least_loss_kpa, "mm", 2)} kPa.`,
    ),
    h(
      "div.actions-row",
      {},
      button("Use this", use, { disabled: local.chosen === null, "data-keep": "use-proposal" }),
      local.chosen !== null &&
        button(
          "Hide preview",
          () => {
            local.chosen = null;
            store.set({ preview: null });
            again();
          },
          { "data-keep": "hide-proposal" },
        ),
    ),
  );
}

/** A connection that found no way, with the move that makes room. @param {Context} context @param {import("../types.js").Unconnected} one */
function stuck({ actions, local }, { ports, why, move: named }) {
  const words = named ? `Move ${named.item} ${way(named.dx_mm, named.dy_mm)}` : "";
  return h(
    "div.stuck",
    { role: "group", "aria-label": `${inWords(ports)} not joined` },
    h("p", {}, h("strong", {}, `${inWords(ports)} not joined. `), why),
    named &&
      h(
        "div.actions-row",
        {},
        button(
          words,
          () => {
            local.proposalWords = `${named.item} moved. Search again.`;
            actions.edit(words, (d) => move(d, [named.item], named.dx_mm, named.dy_mm, { square: false }), { preview: null });
          },
          { "data-keep": `stuck-${ports.join("-")}` },
        ),
      ),
  );
}
