/** The findings beside the drawing: most severe first, each with its value, its limit and its remedy. */

import { find } from "../model/document.js";
import { h, refill } from "../dom.js";
import { applyChanges } from "../model/edit.js";
import { button } from "./form.js";
import { sign } from "../canvas/signs.js";
import { format } from "../model/quantity.js";
import { shown } from "../geometry/view.js";

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

/** What makes a finding the same one in the next answer. @param {Finding} f */
export const keyOf = (f) => `${f.rule}|${f.items.join(",")}`;

/**
 * @typedef {{store: import("../types.js").Store, actions: import("../types.js").Actions}} Parts
 */

/** How long things rest before what has changed is said, ms. */
const SETTLED = 700;

/** @param {Parts & {root: HTMLElement, live: HTMLElement}} parts */
export function createFindings({ root, live, ...parts }) {
  const { store } = parts;
  let told = "";
  let drawn = "";
  let timer = 0;
  /** Levels that the reader has folded. @type {Partial<Record<Level, boolean>>} */
  const closed = { note: true };

  function draw() {
    const { answer, link } = store.get();
    const found = answer?.findings;
    if (!found) {
      drawn = "";
      const reason = answer?.reasons?.findings ?? "Checking…";
      refill(root, h("p.quiet", {}, link === "away" ? "Offline; findings return with the server." : reason));
      return;
    }
    const open = found.filter((f) => !f.accepted);
    tell(open);
    // The same findings again, as in most frames of a drag, need no new list.
    const now = JSON.stringify(found);
    if (now === drawn) return;
    drawn = now;
    refill(
      root,
      verdict(open),
      LEVELS.map(([level, words]) =>
        group(
          parts,
          closed,
          level,
          words,
          open.filter((f) => f.level === level),
        ),
      ),
      acceptedOnes(
        parts,
        found.filter((f) => f.accepted),
      ),
    );
  }

  /** Says what has changed, once things have settled. @param {Finding[]} open */
  function tell(open) {
    const words = summary(open);
    if (words === told || store.get().draft) return;
    clearTimeout(timer);
    timer = window.setTimeout(() => {
      told = words;
      live.textContent = words;
    }, SETTLED);
  }

  store.watch(["answer", "link"], draw);
}

/** Findings of one level, to be folded. @param {Parts} parts @param {Partial<Record<Level, boolean>>} closed levels that the reader has folded @param {Level} level @param {string} words @param {Finding[]} found */
function group(parts, closed, level, words, found) {
  if (!found.length) return null;
  return h(
    "details.level",
    {
      open: !(closed[level] ?? false) || (level === "note" && found.length < 3),
      ontoggle: (event) => {
        closed[level] = !event.currentTarget.open;
      },
    },
    h(
      "summary",
      { "data-keep": `level-${level}` },
      sign(level),
      h("span", {}, words),
      h("span.count", {}, String(found.length)),
    ),
    h(
      "ul",
      {},
      found.map((f) => one(parts, f)),
    ),
  );
}

/** @param {Finding[]} open */
function summary(open) {
  if (!open.length) return "No findings.";
  const errors = open.filter((f) => f.level === "error");
  const warnings = open.filter((f) => f.level === "warning").length;
  const first = errors[0] ? ` First: ${errors[0].message}` : "";
  return `${errors.length} ${errors.length === 1 ? "error" : "errors"}, ${warnings} ${warnings === 1 ? "warning" : "warnings"}.${first}`;
}

/** @param {Finding[]} open */
function verdict(open) {
  if (open.some((f) => f.level !== "note")) return null;
  const tick = h("span.tick", { "aria-hidden": "true" }, "✓");
  return h("p.all-well", {}, tick, open.length ? " No errors, no warnings." : " No findings. Every rule is met.");
}

/** @param {Parts} parts @param {Finding[]} accepted */
const acceptedOnes = (parts, accepted) =>
  accepted.length
    ? h(
        "details.level",
        {},
        h("summary", { "data-keep": "accepted" }, `Accepted, with a reason (${accepted.length})`),
        h(
          "ul",
          {},
          accepted.map((f) => one(parts, f)),
        ),
      )
    : null;

/** @param {Parts} parts @param {Finding} f */
function one(parts, f) {
  const { store } = parts;
  const key = keyOf(f);
  // The server's key keeps its name; what it holds is the remedy.
  const { mend: remedy, fix } = f;
  const focusIt = () => store.set({ finding: f });
  const leave = () => {
    const shownNow = store.get().finding;
    if (shownNow && keyOf(shownNow) === key) store.set({ finding: null });
  };
  return h(
    `li.found.${f.level}`,
    {
      dataset: { rule: f.rule, items: f.items.join(" ") },
      onmouseenter: focusIt,
      onmouseleave: leave,
      onfocusin: focusIt,
      onfocusout: leave,
    },
    h("button.found-words", { type: "button", "data-keep": `find-${key}`, onclick: () => go(parts, f) }, f.message),
    gauge(f),
    remedy ? h("p.remedy", {}, remedy) : null,
    fix ? button(fix.label, () => apply(parts, fix), { class: "do", "data-keep": `fix-${key}` }) : null,
    f.accepted ? h("p.quiet", {}, `Accepted: ${f.accepted}`) : null,
  );
}

/** How far the value is from the limit, drawn. A limit of 0 leaves nothing to compare. @param {Finding} f */
function gauge(f) {
  if (f.value === null || !f.limit) return null;
  const [value, limit] = [f.value, f.limit];
  const whole = Math.max(Math.abs(value), Math.abs(limit)) * 1.15;
  const part = (/** @type {number} */ v) => `${Math.min(100, (Math.abs(v) / whole) * 100)}%`;
  const filled = h("span.gauge-value", {});
  const mark = h("span.gauge-limit", {});
  filled.style.width = part(value);
  mark.style.left = part(limit);
  const words = `${format(value, "mm", 2)} ${f.unit}, limit ${format(limit, "mm", 2)} ${f.unit}`;
  return h("p.figures", {}, h("span.gauge", { "aria-hidden": "true" }, filled, mark), h("span", {}, words));
}

/** To the place of a finding. @param {Parts} parts @param {Finding} f */
function go({ store, actions }, f) {
  const { document, view, size } = store.get();
  store.set({ finding: f, ...(f.at ? { view: shown(view, f.at, size) } : {}) });
  actions.select(f.items.filter((id) => find(document, id)));
}

/** @param {Parts} parts @param {import("../types.js").Fix} fix */
function apply({ actions }, fix) {
  actions.edit(fix.label, (d) => applyChanges(d, fix.changes), { finding: null });
  actions.say(`${fix.label}: done.`);
}
