/** The findings beside the drawing: most severe first, each with its value, its limit and what would mend it. */

import { find } from "../model/document.js";
import { h, refill } from "../dom.js";
import { applyChanges } from "../model/edit.js";
import { button } from "./form.js";
import { sign } from "../canvas/overlay.js";
import { format } from "../model/quantity.js";
import { shown } from "../geometry/view.js";

/** @typedef {import("../types.js").Finding} Finding */

/** @type {["error"|"warning"|"note", string][]} */
const LEVELS = [
  ["error", "Must be mended"],
  ["warning", "Look at these"],
  ["note", "Worth knowing"],
];

/** What makes a finding the same one in the next answer. @param {Finding} f */
export const keyOf = (f) => `${f.rule}|${f.items.join(",")}`;

/** @param {{store: any, actions: any, root: HTMLElement, live: HTMLElement}} parts */
export function createFindings({ store, actions, root, live }) {
  let told = "";
  let drawn = "";
  let timer = 0;
  /** @type {Record<string, boolean>} */
  const closed = { note: true };

  function draw() {
    const { look, link } = store.get();
    const found = /** @type {Finding[]|null} */ (look?.findings ?? null);
    if (!found) {
      drawn = "";
      refill(
        root,
        h(
          "p.quiet",
          {},
          link === "away" ? "The server is away; findings come back with it." : (look?.reasons?.findings ?? "Looking…"),
        ),
      );
      return;
    }
    // The same findings again, as in most frames of a drag, need no new list.
    const open = found.filter((f) => !f.accepted);
    tell(open);
    const now = JSON.stringify(found);
    if (now === drawn) return;
    drawn = now;
    const accepted = found.filter((f) => f.accepted);
    refill(
      root,
      open.some((f) => f.level !== "note")
        ? null
        : h(
            "p.all-well",
            {},
            h("span.tick", { "aria-hidden": "true" }, "✓"),
            open.length ? " Nothing to mend." : " Nothing found. Every rule is kept.",
          ),
      LEVELS.map(([level, words]) =>
        group(
          level,
          words,
          open.filter((f) => f.level === level),
        ),
      ),
      accepted.length
        ? h(
            "details.level",
            {},
            h("summary", { "data-keep": "accepted" }, `Let stand, with a reason (${accepted.length})`),
            h("ul", {}, accepted.map(one)),
          )
        : null,
    );
  }

  /** @param {"error"|"warning"|"note"} level @param {string} words @param {Finding[]} found */
  function group(level, words, found) {
    if (!found.length) return null;
    const details = h(
      "details.level",
      {
        open: !(closed[level] ?? false) || (level === "note" && found.length < 3),
        ontoggle: () => {
          closed[level] = !details.open;
        },
      },
      h(
        "summary",
        { "data-keep": `level-${level}` },
        sign(level),
        h("span", {}, words),
        h("span.count", {}, String(found.length)),
      ),
      h("ul", {}, found.map(one)),
    );
    return details;
  }

  /** @param {Finding} f */
  function one(f) {
    const key = keyOf(f);
    const focusIt = () => store.set({ finding: f });
    const leave = () => {
      if (store.get().finding && keyOf(store.get().finding) === key) store.set({ finding: null });
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
      h("button.found-words", { type: "button", "data-keep": `find-${key}`, onclick: () => go(f) }, f.message),
      f.value !== null && f.limit !== null ? gauge(f) : null,
      f.mend ? h("p.mend", {}, f.mend) : null,
      f.fix ? button(f.fix.label, () => mend(f), { class: "do", "data-keep": `mend-${key}` }) : null,
      f.accepted ? h("p.quiet", {}, `Let stand: ${f.accepted}`) : null,
    );
  }

  /** How far the value is from the limit, drawn. @param {Finding} f */
  function gauge(f) {
    const [value, limit] = [Number(f.value), Number(f.limit)];
    const most = Math.max(Math.abs(value), Math.abs(limit)) * 1.15 || 1;
    const part = (/** @type {number} */ v) => Math.max(0, Math.min(100, (Math.abs(v) / most) * 100));
    const bar = h("span.gauge", { "aria-hidden": "true" }, h("span.gauge-value", {}), h("span.gauge-limit", {}));
    bar.children[0].style.width = `${part(value)}%`;
    bar.children[1].style.left = `${part(limit)}%`;
    return h("p.figures", {}, bar, h("span", {}, `${format(value, "mm", 2)} of ${format(limit, "mm", 2)} ${f.unit}`));
  }

  /** @param {Finding} f */
  function go(f) {
    const { document, view, size } = store.get();
    const ids = f.items.filter((id) => find(document, id));
    store.set({ finding: f, ...(f.at ? { view: shown(view, f.at, size) } : {}) });
    actions.pick(ids);
  }

  /** @param {Finding} f */
  function mend(f) {
    if (!f.fix) return;
    const fix = f.fix;
    actions.edit(fix.label, (/** @type {any} */ d) => applyChanges(d, fix.changes), { finding: null });
    actions.say(`${fix.label}: done.`);
  }

  /** Says what has changed, once things have settled. @param {Finding[]} open */
  function tell(open) {
    const errors = open.filter((f) => f.level === "error");
    const words = open.length
      ? `${errors.length} to mend, ${open.filter((f) => f.level === "warning").length} to look at.${errors[0] ? ` First: ${errors[0].message}` : ""}`
      : "Nothing found.";
    if (words === told || store.get().draft) return;
    clearTimeout(timer);
    timer = window.setTimeout(() => {
      told = words;
      live.textContent = words;
    }, 700);
  }

  store.watch(["look", "link"], draw);
  return { draw };
}
