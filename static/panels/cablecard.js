/** A cable's way out of a pocket: the slot is made from the pocket's panel; on the slot's own it is led elsewhere, and round corners. */

import { DEFAULTS } from "../format.js";
import { h } from "../dom.js";
import { isLed, removeSlotCorner, slotCorners, slotWidth, waysOut, withSlotCorner } from "../model/cableslots.js";
import { followersOf } from "../model/following.js";
import { setValue } from "../model/edit.js";
import { format } from "../model/quantity.js";
import { bareLength } from "./barelength.js";
import { button } from "./form.js";
import { lengthOf } from "./outlinetools.js";

/**
 * @typedef {import("./itempanel.js").Parts} Parts
 * @typedef {import("../types.js").Item} Item
 */

/** Stands for the nearest of all ways out. */
const NEAREST = "nearest";

/** On a pocket's panel. @param {Parts} parts @param {Item} item */
export function cableActions(parts, item) {
  const { store, actions } = parts;
  const slots = followersOf(store.get().document, item.id);
  return h(
    "section.sub",
    { role: "group", "aria-label": "Cable" },
    h("h4", {}, "Cable"),
    slots.length ? h("p.quiet", {}, "Cable slots: ", slots.map((id) => [button(id, () => actions.select([id]), { class: "link" }), " "])) : null,
    h(
      "details.popover",
      {},
      h("summary", { "data-keep": "cable-slot" }, "Slot for its cable…"),
      h("div.popover-body", {}, form(parts, item)),
    ),
  );
}

/** @param {Parts} parts @param {Item} item */
function form({ store, actions, api, ask }, item) {
  const { unit, document } = store.get();
  const usual = DEFAULTS.CableSlot;
  const to = h(
    "select",
    { "aria-label": "Leads to" },
    /** @type {[string, string][]} */ ([[NEAREST, "what is nearest"], ...waysOut(document, item.face)]).map(([value, words]) => h("option", { value }, words)),
  );
  const cable = h("input", { type: "text", "aria-label": "Cable diameter", value: format(usual.cable_mm, unit) });
  const clearance = h("input", { type: "text", "aria-label": "Clearance of the cable", value: format(usual.clearance_mm, unit) });
  const make = () => {
    const [thick, room] = [lengthOf(actions, cable.value, unit), lengthOf(actions, clearance.value, unit)];
    if (thick === null || room === null) return null;
    return ask("The slot for the cable", async () => {
      const { document: now } = store.get();
      const nearest = to.value === NEAREST;
      const made = await api.post("/api/cable-slot", {
        document: now,
        start: item.id,
        end: nearest ? null : to.value || null,
        nearest,
        cable_mm: thick,
        clearance_mm: room,
      });
      if (store.get().document !== now) return;
      actions.commit(made.document, `Add ${made.ids.join(", ")} for the cable of ${item.id}`, { selection: made.ids, spot: null });
      actions.say(`${made.ids.join(", ")} added: a slot ${format(thick + room, unit, 2)} ${unit} wide, in step with what it joins.`);
    });
  };
  return [
    h("label", {}, "Leads to ", to),
    h("label", {}, "Cable diameter ", cable),
    h("label", {}, "Clearance ", clearance),
    h("p.quiet", {}, "The slot is as wide as both together."),
    button("Make the slot", make),
  ];
}

/** On a slot's own panel. @param {Parts} parts @param {Item} item @param {HTMLElement[]} buttons */
export function cableSlot(parts, item, buttons) {
  const { store, actions } = parts;
  const { unit, document } = store.get();
  const { cable } = item;
  if (!cable) return null;
  const set = (/** @type {string} */ what, /** @type {import("../types.js").Path} */ path, /** @type {unknown} */ value) =>
    actions.edit(`Change ${what} of ${item.id}`, (d) => setValue(d, item.id, ["cable", ...path], value));
  const to = h(
    "select",
    {
      "aria-label": "Leads to",
      "data-keep": "cable-to",
      onchange: (event) => set("the end", ["end"], event.currentTarget.value || null),
    },
    waysOut(document, item.face).map(([value, words]) => h("option", { value, selected: value === (cable.end ?? "") }, words)),
  );
  const size = (/** @type {"cable_mm"|"clearance_mm"} */ key, /** @type {string} */ name) =>
    h("label", {}, `${name} `, bareLength(parts, { keep: `${item.id}-${key}`, name, value: cable[key] ?? DEFAULTS.CableSlot[key] }, (next) => set(name.toLowerCase(), [key], next)));
  return h(
    "section.sub",
    { role: "group", "aria-label": "Cable slot" },
    h("h4", {}, "Cable slot"),
    h(
      "p.quiet",
      {},
      "From ",
      button(cable.start, () => actions.select([cable.start]), { class: "link" }),
      `, ${format(slotWidth(cable), unit, 2)} ${unit} wide${isLed(item) ? ", in step with what it joins." : ". Its outline is drawn by hand."}`,
    ),
    h("label", {}, "Leads to ", to),
    size("cable_mm", "Cable diameter"),
    size("clearance_mm", "Clearance of the cable"),
    corners(parts, item),
    h(
      "div.actions-row",
      { role: "group", "aria-label": "Follows" },
      buttons,
      buttons.length ? null : button("Follow again", () => set("whether it follows", ["in_step"], null), { "data-keep": "follow-again" }),
    ),
  );
}

/** The corners on its way, by number. @param {Parts} parts @param {Item} item */
function corners(parts, item) {
  const { store, actions } = parts;
  const { spot } = store.get();
  const points = slotCorners(item);
  const place = (/** @type {number} */ i, /** @type {"x_mm"|"y_mm"} */ key, /** @type {string} */ words) => {
    const name = `Slot corner ${i + 1} ${words}`;
    return bareLength(parts, { keep: `${item.id}-slot-${i}-${key}`, name, value: points[i][key] }, (next) =>
      actions.edit(`Change ${name.toLowerCase()} of ${item.id}`, (d) => setValue(d, item.id, ["cable", "points", i, key], next)),
    );
  };
  const add = () => {
    const made = withSlotCorner(store.get().document, item.id);
    if (made) actions.commit(made.document, `Add a corner to ${item.id}`, { spot: { id: item.id, index: made.index } });
  };
  return [
    points.length
      ? h(
          "ol.corners",
          {},
          points.map((_, i) =>
            h(
              "li",
              { class: spot?.id === item.id && spot.index === i ? "chosen" : null },
              place(i, "x_mm", "from the left"),
              place(i, "y_mm", "from the front"),
              button("×", () => actions.edit(`Remove a corner of ${item.id}`, (d) => removeSlotCorner(d, item.id, i), { spot: null }), {
                "aria-label": `Remove slot corner ${i + 1}`,
                "data-keep": `rm-slot-${i}`,
              }),
            ),
          ),
        )
      : h("p.quiet", {}, "It runs straight, the shortest way."),
    isLed(item) ? button("Add a corner", add, { "data-keep": "add-slot-corner" }) : null,
  ];
}
