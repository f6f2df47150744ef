/** How sure: the chance that all tubes land, the weakest tube, whose spread it is, and what would raise the chance. */

import { h } from "../dom.js";
import { FIELDS } from "../format.js";
import { fieldOf } from "../panels/fields.js";
import { format } from "../model/quantity.js";
import { button } from "../panels/form.js";
import { sentence } from "../server/api.js";
import { documentField, fold, part } from "./parts.js";

/**
 * @typedef {import("./parts.js").Context} Context
 * @typedef {import("../types.js").SurenessAnswer} SurenessAnswer
 * @typedef {SurenessAnswer["tubes"][0]} Tube
 */

/** How long the document rests before its chances are asked for, ms. */
const REST = 350;

/** Where a spread comes from, in words. @type {Record<string, string>} */
const SOURCES = {
  survey: "survey readings",
  hardware: "place of hardware",
  standoffs: "standoffs",
  part: "port on its device",
  seating: "seating of the plate",
  making: "making",
  warming: "warmth",
  bow: "bow of the sheet",
};

const SPREADS = /** @type {(keyof typeof FIELDS.Spreads)[]} */ (Object.keys(FIELDS.Spreads)).map((key) =>
  fieldOf("Spreads", key, undefined, { at: ["spreads"] }),
);

/** A chance in a sentence: never all or nothing. @param {number} chance */
export function percent(chance) {
  if (chance > 0.999) return "over 99.9\u00a0%";
  return chance < 0.001 ? "under 0.1\u00a0%" : `${format(100 * chance, "mm", 1)}\u00a0%`;
}

/** @param {Context} context */
export function sureness(context) {
  const { store, local } = context;
  const { document } = store.get();
  wanted(context, document);
  const found = /** @type {SurenessAnswer|null} */ (local.sure ?? null);
  const now = local.sureOf === document;
  return [
    part(
      "How sure",
      h(
        "div",
        { role: "status" },
        local.sureProblem && h("p.problem", {}, local.sureProblem),
        found && verdict(found),
        found && !now && h("p.quiet", {}, "This was before the last change. Working it out again…"),
        !found && !local.sureProblem && h("p.quiet", {}, "Working out the chances…"),
      ),
      local.sureProblem &&
        h(
          "div.actions-row",
          {},
          button("Try again", () => ask(context, document), { "data-keep": "sure-again" }),
        ),
      found && [ellipses(found), shares(found.tubes), clearances(found), advice(found), notes(found)],
    ),
    fold(
      "Spreads and limits",
      false,
      h("p.quiet", {}, "One standard deviation each. What you do not know stays as it is assumed."),
      h(
        "div.fields",
        {},
        SPREADS.map((spec) => documentField(context, spec)),
      ),
    ),
  ];
}

/** Asks about a document that rests; while something is dragged this step is not drawn. @param {Context} context @param {import("../types.js").PlateDocument} document */
function wanted(context, document) {
  const { store, local } = context;
  const { link } = store.get();
  const back = local.sureProblem && local.sureLink === "away" && link !== "away";
  local.sureLink = link;
  if (local.sureFor === document && !back) return;
  if (local.surePlate !== store.get().plate?.id) Object.assign(local, { surePlate: store.get().plate?.id, sure: null });
  local.sureFor = document;
  clearTimeout(local.sureTimer);
  local.sureTimer = setTimeout(() => ask(context, document), local.sure ? REST : 0);
}

/** @param {Context} context @param {import("../types.js").PlateDocument} document */
async function ask({ api, store, local, again }, document) {
  try {
    const sure = await api.sureness(document);
    if (local.sureFor !== document) return;
    Object.assign(local, { sure, sureOf: document, sureProblem: "" });
    store.set({ sure: { document, tubes: sure.tubes } });
  } catch (error) {
    if (local.sureFor !== document) return;
    // A figure that may no longer hold is not left standing.
    Object.assign(local, { sure: null, sureProblem: `No chance can be stated. ${sentence(error)}` });
  }
  again();
}

/** @param {SurenessAnswer} found */
function verdict({ chance, limit_percent: limit, messages, tubes }) {
  const under = chance !== null && 100 * chance < limit;
  const weakest = tubes.length > 1 ? tubes.reduce((a, b) => (b.chance < a.chance ? b : a)) : null;
  return [
    h("p.overall", {}, messages[0]),
    chance !== null &&
      h(
        under ? "p.missing" : "p",
        {},
        `Chance of all together: ${percent(chance)}, ${under ? "under" : "which meets"} the limit of ${format(limit, "mm", 1)} %.`,
      ),
    weakest && h("p", {}, `Weakest tube: ${weakest.port} (${weakest.serves}), ${percent(weakest.chance)}.`),
  ];
}

/** Whose spread it is, one bar for each tube; the words under it say the same. @param {Tube[]} tubes */
function shares(tubes) {
  if (!tubes.length) return null;
  return h(
    "ul.budgets",
    { "aria-label": "Shares of the spread" },
    tubes.map((tube) => {
      const list = Object.entries(tube.shares).filter(([, share]) => share >= 0.005);
      return h(
        "li",
        {},
        h("span.line", {}, h("span", {}, `${tube.port} (${tube.serves})`), h("span", {}, percent(tube.chance))),
        h(
          "span.budget",
          { "aria-hidden": "true" },
          list.map(([name, share]) => h(`span.budget-${name}`, { style: `flex-grow: ${Math.round(share * 1000)}` })),
        ),
        h(
          "span.budget-words",
          {},
          list.map(([name, share]) => `${SOURCES[name] ?? name} ${Math.round(share * 100)} %`).join(", ") ||
            "no spread",
        ),
      );
    }),
  );
}

/** What the signs on the plan mean. @param {SurenessAnswer} found */
const ellipses = ({ tubes }) =>
  tubes.length
    ? h(
        "p.quiet",
        {},
        "On the plan: each tube may land in the circle; 95 of 100 do land in the ellipse, drawn at true size.",
      )
    : null;

/** Gaps that may close, the least sure first. @param {SurenessAnswer} found */
function clearances({ clearances: list, limit_percent: limit }) {
  const doubtful = list.filter((one) => 100 * one.chance < Math.max(limit, 99.5));
  if (!doubtful.length) return null;
  const words = (/** @type {string[]} */ items) =>
    (items.length > 1 ? items : ["plate", ...items]).map((name) => (name === "floor" ? "case wall" : name)).join(" – ");
  return h(
    "div",
    {},
    h("h4", {}, "Clearances in doubt"),
    h(
      "ul.plain",
      { "aria-label": "Clearances in doubt" },
      doubtful.map((one) =>
        h(
          "li",
          {},
          `${words(one.items)}: ${percent(one.chance)} (${one.gap_mm.toFixed(1)} mm drawn, spread ${one.sigma_mm.toFixed(2)} mm)`,
        ),
      ),
    ),
  );
}

/** @param {SurenessAnswer} found */
function advice({ advice: list }) {
  if (!list.length) return null;
  return h(
    "div",
    {},
    h("h4", {}, "What would raise the chance"),
    h(
      "ul.plain",
      { "aria-label": "What would raise the chance" },
      list.map((one) => h("li", {}, `${one.do}: ${percent(one.chance)}`)),
    ),
  );
}

/** What the answer leans on, and what the trial said. @param {SurenessAnswer} found */
function notes({ chance, before_trial: before, assumed }) {
  return [
    chance !== null && before !== null && h("p", {}, `Before the trial it was ${percent(before)}.`),
    assumed.map((words) => h("p.quiet", {}, words)),
  ];
}
