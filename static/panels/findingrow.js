/** One finding beside the drawing: what is wrong, how far, what it lists, what to do; and the way to its place. */

import { h } from "../dom.js";
import { find } from "../model/document.js";
import { applyChanges } from "../model/edit.js";
import { format } from "../model/quantity.js";
import { shown } from "../geometry/view.js";
import { button } from "./form.js";
import { waysOut } from "./ways.js";
import { focusField, placeFor } from "./whereto.js";

/**
 * @typedef {import("../types.js").Finding} Finding
 * @typedef {{store: import("../types.js").Store, actions: import("../types.js").Actions}} Parts
 */

/** So many places are listed openly. */
const FEW = 4;

/** What makes a finding the same one in the next answer. @param {Finding} f */
export const keyOf = (f) => `${f.rule}|${f.items.join(",")}`;

/** @param {Parts} parts @param {Finding} f */
export function one(parts, f) {
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
    listed(parts, f),
    remedy ? h("p.remedy", {}, remedy) : null,
    f.level === "note" ? null : ways(parts, f),
    fix ? button(fix.label, () => apply(parts, fix), { class: "do", "data-keep": `fix-${key}` }) : null,
    f.accepted ? h("p.quiet", {}, `Accepted: ${f.accepted}`) : null,
  );
}

/** The fields that the remedy speaks of, one press away. @param {Parts} parts @param {Finding} f */
function ways({ actions }, f) {
  const fields = waysOut(f.rule);
  if (!fields.length) return null;
  return h(
    "p.ways",
    {},
    "Change: ",
    fields.map(({ label, step, keep }, i) => [
      i ? ", " : "",
      h(
        "button.link",
        {
          type: "button",
          "data-keep": `way-${keyOf(f)}-${keep}`,
          onclick: () => {
            actions.step(step);
            focusField(keep);
          },
        },
        label.toLowerCase(),
      ),
    ]),
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
  const figure = (/** @type {number} */ v) => `${format(v, "mm", 2).replace("-", "−")} ${f.unit}`.trim();
  const needs = value === limit ? `limit ${figure(limit)}` : `needs ${value < limit ? "≥" : "≤"} ${figure(limit)}`;
  const words = `${needs}, has ${figure(value)}`;
  return h("p.figures", {}, h("span.gauge", { "aria-hidden": "true" }, filled, mark), h("span", {}, words));
}

/** The things that a finding lists, each of which leads to its place. @param {Parts} parts @param {Finding} f */
function listed(parts, f) {
  const each = f.listed ?? [];
  if (!each.length) return null;
  const key = keyOf(f);
  return h(
    "details.listed",
    { open: each.length <= FEW, ontoggle: (event) => event.stopPropagation() },
    h("summary", { "data-keep": `listed-${key}` }, `${each.length} ${each.length === 1 ? "place" : "places"}`),
    h(
      "ul.chips",
      {},
      each.map((place, i) =>
        h(
          "li",
          {},
          button(
            place.value === null
              ? place.items.join(", ")
              : `${place.items.join(", ")} ${format(place.value, "mm", 2).replace("-", "−")}${f.unit ? ` ${f.unit}` : ""}`,
            () => go(parts, { ...f, items: place.items, at: place.at }),
            { class: "chip", "data-keep": `listed-${key}-${i}` },
          ),
        ),
      ),
    ),
  );
}

/** To what a finding is about: its items on the drawing, its reading, or its field. @param {Parts} parts @param {Finding} f */
export function go({ store, actions }, f) {
  const { document, view, size, reference } = store.get();
  store.set({ finding: f, ...(f.at ? { view: shown(view, f.at, size) } : {}) });
  actions.select(f.items.filter((id) => find(document, id)));
  const question = reference?.rules.find((rule) => rule.name === f.rule)?.question;
  const place = placeFor(document, f, question);
  if (!place) return;
  actions.step(place.step);
  focusField(place.keep);
}

/** @param {Parts} parts @param {import("../types.js").Fix} fix */
function apply({ actions }, fix) {
  actions.edit(fix.label, (d) => applyChanges(d, fix.changes), { finding: null });
  actions.say(`${fix.label}: done.`);
}
