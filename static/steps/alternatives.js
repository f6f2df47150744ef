/** What a search found: alternatives side by side with their numbers, to look at, and to take whole or by channel. */

import { h } from "../dom.js";
import { inWords } from "../model/connections.js";
import { move } from "../model/edit.js";
import { sharesOf, taken } from "../model/proposed.js";
import { format } from "../model/quantity.js";
import { sameContent } from "../model/same.js";
import { button } from "../panels/form.js";
import { way } from "./trial.js";

/**
 * @typedef {import("./parts.js").Context} Context
 * @typedef {import("../types.js").Alternative} Alternative
 */

/** @type {Record<string, string>} */
export const STYLES = { square: "Square", diagonal: "At 45°", free: "Free" };

/** @type {Record<string, string>} */
export const LOOKS = {
  parallel: "Parallel, evenly spaced",
  edges: "Along the edges",
  symmetry: "Symmetrical",
  drawn: "Close to what is drawn",
};

const percent = (/** @type {number} */ share) => `${Math.round(100 * share)} %`;

/** @param {Alternative} one */
const threadChanged = (one) => one.changes.some(({ pointer }) => pointer === "/seal/screw");

/** @type {[string, (one: Alternative) => string][]} */
const ROWS = [
  ["Style", (one) => STYLES[one.style] ?? one.style],
  ["Look", (one) => (one.look ? LOOKS[one.look] : "–")],
  ["Width × depth, mm", (one) => `${format(one.width_mm, "mm", 1)} × ${format(one.depth_mm, "mm", 1)}`],
  ["Loss, kPa", (one) => format(one.loss_kpa, "mm", 2)],
  ["Lower bound, kPa", (one) => format(one.least_loss_kpa, "mm", 2)],
  ["Length, mm", (one) => format(one.length_mm, "mm", 0)],
  ["Bends", (one) => String(one.bends)],
  ["Milled, cm³", (one) => format(one.milling_mm3 / 1000, "mm", 1)],
  ["Parallel", (one) => percent(one.parallel)],
  ["Along edges", (one) => percent(one.along_edges)],
  ["Mirrored", (one) => percent(one.mirrored)],
  ["Lid screws", (one) => (one.lid_screws ? `${one.lid_screws} × ${one.screw}${threadChanged(one) ? " (changed)" : ""}` : "–")],
  ["Errors", (one) => String(one.counts.error)],
  ["Warnings", (one) => String(one.counts.warning)],
];

/** @param {Context} context @param {import("../server/search.js").Found} found @param {import("../types.js").ProposalAnswer} answer */
export function results(context, found, answer) {
  const { store, local } = context;
  const { document } = store.get();
  if (local.comparedWith !== document || local.comparedOf !== found.of)
    Object.assign(local, { comparedWith: document, comparedOf: found.of, fresh: sameContent(document, found.of) });
  if (!local.fresh) {
    if (store.get().preview) store.set({ preview: null });
    // What was taken from here is what changed it: that is said already.
    if (document === local.taken) return null;
    return h("p.quiet", {}, "The plate has changed since this search. Search again, or undo the change.");
  }
  const list = whole(answer);
  chooseBest(context, answer);
  const drafts = answer.drafts.filter((one) => one.channels.length);
  return [
    list.length > 0 && alternatives(context, list, false),
    !list.length && failures(answer),
    answer.unconnected.map((one) => stuck(context, one)),
    !list.length && drafts.length > 0 && alternatives(context, drafts, true),
  ];
}

/** The alternatives that can be used. @param {import("../types.js").ProposalAnswer} answer */
export const whole = (answer) => answer.alternatives.filter((one) => one.channels.length);

/** The first is the best by the weights: it is chosen and shown, once for each answer, so that one press uses it. @param {Context} context @param {import("../types.js").ProposalAnswer} answer */
function chooseBest(context, answer) {
  const { store, actions, local } = context;
  const [best] = whole(answer);
  if (!best || local.offered === answer) return;
  Object.assign(local, { offered: answer, chosen: 0, left: new Set() });
  store.set({ preview: best.document });
  actions.whisper(chosenWords(context, whole(answer)));
}

/** What is chosen and why, in words; nothing when none is. @param {Context} context @param {Alternative[]} list */
function chosenWords({ store, local }, list) {
  const one = list[local.chosen ?? -1];
  if (!one) return "";
  const best = one.best_at.join(", ");
  const why = list.length < 2 ? "" : local.chosen === 0 ? `: the best by the weights above${best && `, ${best}`}` : best && `: ${best}`;
  return `Alternative ${local.chosen + 1} is chosen${why}.${store.get().preview ? " The plan shows it dashed." : ""}`;
}

/** Why nothing passes: the errors of the best draft, and what was tried against them. @param {import("../types.js").ProposalAnswer} answer */
function failures({ failures: errors, short, tried }) {
  if (!errors.length) return null;
  return h(
    "div.stuck",
    { role: "group", "aria-label": "Why nothing passes" },
    h("p", {}, h("strong", {}, "Nothing found that passes every rule. "), "In the best draft stands:"),
    h(
      "ul.plain",
      {},
      errors.map((one) =>
        h("li", {}, `${one.message} ${one.stood_before ? "This stood before any channel was proposed. " : ""}${one.remedy}`),
      ),
    ),
    short.length > 0 && [
      h("p", {}, "Too little room for groove and lid screws:"),
      h("ul.plain", {}, short.map((words) => h("li", {}, words))),
    ],
    tried.length > 0 &&
      h(
        "details",
        {},
        h("summary", {}, `Tried under all rules, without success: ${tried.length}`),
        h("ul.plain.quiet", {}, tried.map(({ words, left }) => h("li", {}, `${sentence(words)}. ${left}`))),
      ),
  );
}

/** @param {string} words */
export const sentence = (words) => words[0].toUpperCase() + words.slice(1);

/** Side by side; drafts are such as do not pass, and say so. @param {Context} context @param {Alternative[]} list @param {boolean} draft */
function alternatives(context, list, draft) {
  const { store, local, again } = context;
  const wanted = (store.get().document.loop?.connections ?? []).length;
  const rows = [...ROWS];
  if (list.some((one) => one.connected.length < wanted))
    rows.push(["Joined", (one) => `${one.connected.length} of ${wanted}`]);
  // A change against what is drawn means nothing where nothing is.
  if ((store.get().document.channels ?? []).length) rows.push(["Changed, mm", (one) => format(one.changed_mm, "mm", 0)]);
  const look = (/** @type {number} */ index) => {
    Object.assign(local, { chosen: index, left: new Set() });
    store.set({ preview: list[index].document });
    again();
  };
  return h(
    "fieldset",
    {},
    h("legend", {}, draft ? "Drafts that do not pass" : "Alternatives"),
    h(
      "div.scroll-x",
      {},
      h(
        "table.alternatives",
        {},
        h("thead", {}, h("tr", {}, h("td"), list.map((one, index) => head(one, index, local.chosen === index, look, draft)))),
        h(
          "tbody",
          {},
          rows.map(([label, words]) =>
            h("tr", {}, h("th", { scope: "row" }, label), list.map((one) => h("td", {}, words(one)))),
          ),
        ),
      ),
    ),
    list.some((one) => one.best_at.length) &&
      h(
        "ul.plain.quiet",
        { "aria-label": "What each is best at" },
        list.map((one, index) => one.best_at.length > 0 && h("li", {}, `${index + 1}: ${one.best_at.join(", ")}`)),
      ),
    list.some((one) => one.changes.length) &&
      h(
        "ul.plain",
        { "aria-label": "What each changes on the plate" },
        list.map(
          (one, index) =>
            one.changes.length > 0 && h("li", {}, `${index + 1} also changes the plate: ${changesOf(one)}`),
        ),
      ),
    h(
      "p.quiet",
      {},
      `Losses at ${format(list[0].flow_l_min, "mm", 1)} l/min. The lower bound is the loss of straight lines between the channels' ends.`,
    ),
    taking(context, list, draft),
  );
}

/** The head of a column: its number, which is what chooses it. @param {Alternative} one @param {number} index @param {boolean} checked @param {(index: number) => void} look @param {boolean} draft */
const head = (one, index, checked, look, draft) =>
  h(
    "th",
    { scope: "col" },
    h(
      "label",
      {},
      h("input", {
        type: "radio",
        name: "alternative",
        checked,
        "data-keep": `alternative-${index}`,
        "aria-label": `${draft ? "Draft" : "Alternative"} ${index + 1}, ${STYLES[one.style] ?? one.style}${one.best_at.length ? `, ${one.best_at.join(", ")}` : ""}`,
        onchange: () => look(index),
      }),
      String(index + 1),
    ),
  );

/** @param {Alternative} one */
const changesOf = (one) => one.changes.map(({ words }) => words).join("; ");

/** @param {Alternative} one */
const errorsOf = (one) => `${one.counts.error} error${one.counts.error === 1 ? "" : "s"}`;

/** What is said once it is taken. @param {Alternative} one @param {string[]} wanted @param {boolean} whole @param {boolean} draft */
const takenWords = (one, wanted, whole, draft) =>
  [
    `Taken: ${wanted.join(", ")}. One undo takes all of it back.`,
    !whole && "Lid screws and values of the plate stay as they were: place the screws again when all is drawn.",
    whole && one.changes.length > 0 && `Changed, too: ${changesOf(one)}.`,
    draft && `It is a draft that does not pass: ${errorsOf(one)}.`,
  ]
    .filter(Boolean)
    .join(" ");

/** Which channels to take, and the button that takes them. @param {Context} context @param {Alternative[]} list @param {boolean} draft */
function taking(context, list, draft) {
  const { store, actions, local, again } = context;
  const { document } = store.get();
  const one = list[local.chosen ?? -1];
  const shares = one ? sharesOf(document, one) : [];
  local.left ??= new Set();
  const all = shares.flatMap((share) => share.channels);
  const rest = () => new Set(all.filter((id) => !local.left.has(id)));
  const use = () => {
    const wanted = rest();
    if (!one || !local.fresh || !wanted.size) return;
    local.proposalWords = takenWords(one, [...wanted], wanted.size === all.length, draft);
    const next = taken(document, one, shares, wanted);
    Object.assign(local, { left: new Set(), taken: next });
    actions.commit(next, "Use proposed channels", { preview: null });
  };
  const shown = store.get().preview !== null;
  const show = () => {
    store.set({ preview: shown ? null : taken(document, one, shares, rest()) });
    again();
  };
  const tick = (/** @type {string} */ id, /** @type {boolean} */ on) => {
    if (on) local.left.delete(id);
    else local.left.add(id);
    store.set({ preview: taken(document, one, shares, rest()) });
    again();
  };
  return [
    all.length > 1 &&
      h(
        "fieldset.take-shares",
        {},
        h("legend", {}, "Channels to take"),
        shares.flatMap((share) => share.channels.map((id) => box(id, `${id}, ${endsOf(one, share.ports, id)}`, !local.left.has(id), tick))),
      ),
    !draft && h("p", { id: "chosen-why" }, chosenWords(context, list)),
    h(
      "div.actions-row",
      {},
      button(draft ? `Use this draft${one ? `, with its ${errorsOf(one)}` : ""}` : "Use this", use, {
        disabled: !one || !rest().size,
        "data-keep": "use-proposal",
        "aria-describedby": draft ? null : "chosen-why",
        class: draft ? "" : "do",
      }),
      one && button(shown ? "Hide preview" : "Show preview", show, { "data-keep": "hide-proposal" }),
    ),
  ];
}

/** One channel to take or to leave. @param {string} id @param {string} name @param {boolean} checked @param {(id: string, on: boolean) => void} tick */
const box = (id, name, checked, tick) =>
  h(
    "label.check",
    {},
    h("input", {
      type: "checkbox",
      checked,
      "data-keep": `share-${id}`,
      onchange: (/** @type {Event} */ event) => tick(id, /** @type {HTMLInputElement} */ (event.target).checked),
    }),
    name,
  );

/** What a proposed channel joins, in words, as its connection has it. @param {Alternative} one @param {string[]} ports @param {string} id */
function endsOf(one, ports, id) {
  const channel = (one.document.channels ?? []).find((other) => other.id === id);
  const ends = [channel?.start, channel?.end].filter((end) => typeof end === "string");
  return inWords([...ports.filter((port) => ends.includes(port)), ...ends.filter((end) => !ports.includes(end))]);
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
