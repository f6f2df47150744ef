/** The findings beside the drawing: most severe first, each with its value, its limit and its remedy. */

import { h, refill } from "../dom.js";
import { sign } from "../canvas/signs.js";
import { failedParts, verdictOf } from "../model/verdict.js";
import { createScrewOffer } from "../steps/placescrews.js";
import { keyOf, one } from "./findingrow.js";

export { keyOf };

/**
 * @typedef {import("../types.js").Finding} Finding
 * @typedef {import("../types.js").Level} Level
 */

/** @type {[Level, string][]} */
const LEVELS = [
  ["error", "Errors"],
  ["warning", "Warnings"],
  ["note", "Notes"],
];

/**
 * @typedef {{store: import("../types.js").Store, actions: import("../types.js").Actions, api: import("../types.js").Api}} Parts
 */

/** More findings of one rule than this are one row that opens. */
const MOST_ALONE = 2;

/** How long things rest before what has changed is said, ms. */
const SETTLED = 700;

/** @param {Parts & {root: HTMLElement, live: HTMLElement}} parts */
export function createFindings({ root, live, ...parts }) {
  const { store } = parts;
  const tell = createTelling(store, live);
  let drawn = "";
  /** Levels that the reader has folded or unfolded. @type {Partial<Record<Level, boolean>>} */
  const closed = {};
  /** Rules whose findings the reader has unfolded. @type {Set<string>} */
  const unfolded = new Set();
  const screws = createScrewOffer(parts, () => {
    drawn = "";
    draw();
  });

  function draw() {
    const { answer, old, trying } = store.get();
    const found = answer?.findings;
    if (!found) {
      drawn = "";
      refill(root, h("p.quiet", {}, verdictOf(answer, old).words));
      return;
    }
    const open = found.filter((f) => !f.accepted);
    tell(open);
    const offered = screws.tell(found);
    // The same findings again, as in most frames of a drag, need no new list.
    const { empty, quick, reasons, more } = answer;
    const now = JSON.stringify([found, old, empty, quick, trying, reasons, more]);
    if (now === drawn) return;
    drawn = now;
    refill(
      root,
      old && h("p.old-answer", {}, old),
      failedParts(answer) && h("p.problem", {}, `Not worked out: ${failedParts(answer)}`),
      verdict(answer, old),
      screws.offer(found),
      LEVELS.map(([level, words]) =>
        group(
          { ...parts, unfolded, closed, trying: trying && level === open[0]?.level },
          level,
          words,
          open.filter((f) => f.level === level),
        ),
      ),
      acceptedOnes(
        parts,
        found.filter((f) => f.accepted),
      ),
      more ? h("p.quiet", {}, `${more} more findings are not listed: fix some of these first.`) : null,
    );
    if (offered) root.scrollTop = 0;
  }

  store.watch(["answer", "old", "trying"], draw);
}

/** Says what has changed, once things have settled. @param {Parts["store"]} store @param {HTMLElement} live */
function createTelling(store, live) {
  let told = "";
  let timer = 0;
  return (/** @type {Finding[]} */ open) => {
    const words = summary(open);
    if (words === told || store.get().draft) return;
    clearTimeout(timer);
    timer = window.setTimeout(() => {
      told = words;
      live.textContent = words;
    }, SETTLED);
  };
}

/**
 * Findings of one level, to be folded.
 * @param {Parts & {unfolded: Set<string>, closed: Partial<Record<Level, boolean>>, trying: boolean}} parts rules that the
 *   reader has unfolded, levels that the reader has folded or unfolded, and whether fixes are being tried
 * @param {Level} level @param {string} words @param {Finding[]} found
 */
function group({ unfolded, closed, trying, ...parts }, level, words, found) {
  if (!found.length) return null;
  return h(
    "details.level",
    {
      open: !(closed[level] ?? foldedAtFirst(level, found)),
    },
    h(
      "summary",
      {
        "data-keep": `level-${level}`,
        // The click comes before the fold: what is open now is about to be closed.
        onclick: (event) => {
          closed[level] = /** @type {HTMLDetailsElement} */ (event.currentTarget.parentElement).open;
        },
      },
      sign(level),
      h("h3", {}, words),
      trying && h("span.trying", {}, "looking for fixes…"),
      h("span.count", {}, String(found.length)),
    ),
    h(
      "ul",
      {},
      byCause(found).map((same) =>
        same.length > MOST_ALONE ? cause(parts, unfolded, same) : same.map((f) => one(parts, f)),
      ),
    ),
  );
}

/** Many notes are folded until the reader wants them, unless one of them can be fixed by a button. @param {Level} level @param {Finding[]} found */
const foldedAtFirst = (level, found) => level === "note" && found.length > MOST_ALONE && !found.some((f) => f.fix);

/** Findings of one rule together, where the first of them stands; the ones with a button lead, so that it is in sight. @param {Finding[]} found @returns {Finding[][]} */
function byCause(found) {
  /** @type {Map<string, Finding[]>} */
  const causes = new Map();
  for (const f of found) causes.set(f.rule, [...(causes.get(f.rule) ?? []), f]);
  return [...causes.values()].map((same) => [...same.filter((f) => f.fix), ...same.filter((f) => !f.fix)]);
}

/** Many findings with one cause: the first, and the others behind it. @param {Parts} parts @param {Set<string>} unfolded @param {Finding[]} same */
function cause(parts, unfolded, same) {
  const [first, ...others] = same;
  const { rule } = first;
  return [
    one(parts, first),
    h(
      "li.alike",
      {},
      h(
        "details",
        {
          open: unfolded.has(rule),
          ontoggle: (event) => {
            if (event.currentTarget.open) unfolded.add(rule);
            else unfolded.delete(rule);
          },
        },
        h("summary", { "data-keep": `alike-${first.level}-${rule}` }, `${others.length} more of this kind`),
        h(
          "ul",
          {},
          others.map((f) => one(parts, f)),
        ),
      ),
    ),
  ];
}

/** @param {Finding[]} open */
function summary(open) {
  if (!open.length) return "No findings.";
  const errors = open.filter((f) => f.level === "error");
  const warnings = open.filter((f) => f.level === "warning").length;
  const first = errors[0] ? ` First: ${errors[0].message}` : "";
  return `${errors.length} ${errors.length === 1 ? "error" : "errors"}, ${warnings} ${warnings === 1 ? "warning" : "warnings"}.${first}`;
}

/** That all is well, when it is; or that there is nothing to check. @param {import("../types.js").Answer} answer @param {string} old */
function verdict(answer, old) {
  const { kind, words } = verdictOf(answer, old);
  if (kind === "empty")
    return h(
      "div.nothing-yet",
      {},
      h("p", {}, `${words}.`),
      h("p.quiet", {}, "Findings come as soon as a port, a hole, a cutout or a channel is on the plate."),
    );
  if (kind === "partly") return h("p.quiet", {}, `${words}; the slower rules follow when it comes to rest.`);
  if (kind !== "kept") return null;
  const unseen = (answer.questions ?? []).reduce((sum, one) => sum + one.not_looked_at.length, 0);
  return h(
    "div.all-well",
    {},
    h("p", {}, h("span.tick", { "aria-hidden": "true" }, "✓"), ` ${words}.`),
    unseen > 0 &&
      h("p.quiet", {}, `${unseen} ${unseen === 1 ? "thing was" : "things were"} not looked at: see the step Check.`),
  );
}

/** @param {Parts} parts @param {Finding[]} accepted */
const acceptedOnes = (parts, accepted) =>
  accepted.length
    ? h(
        "details.level",
        {},
        h("summary", { "data-keep": "accepted" }, h("h3", {}, `Accepted, with a reason (${accepted.length})`)),
        h(
          "ul",
          {},
          accepted.map((f) => one(parts, f)),
        ),
      )
    : null;
