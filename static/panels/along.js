/**
 * From a thing to the plate: a cutout, pocket or keep-out along its outline, following it until cut loose; and from a
 * pocket a slot for its cable.
 */

import { DEFAULTS } from "../format.js";
import { h } from "../dom.js";
import { isLed } from "../model/cableslots.js";
import { followersOf } from "../model/following.js";
import { change, put } from "../model/edit.js";
import { format } from "../model/quantity.js";
import { cableActions, cableSlot } from "./cablecard.js";
import { button } from "./form.js";
import { lengthOf } from "./outlinetools.js";

/**
 * @typedef {import("./itempanel.js").Parts} Parts
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Kind} Kind
 */

/** Kinds that stand in the case: their outlines can go into the plate. @type {Kind[]} */
const THINGS = ["board", "device", "obstacle", "opening"];

/** @param {Parts} parts @param {Kind} kind @param {Item} item */
export function alongActions(parts, kind, item) {
  if (kind === "pocket" && !item.cable) return cableActions(parts, item);
  if (!THINGS.includes(kind)) return null;
  const { store } = parts;
  const followers = followersOf(store.get().document, item.id);
  return h(
    "section.sub",
    { role: "group", "aria-label": "On the plate" },
    h("h4", {}, "On the plate"),
    followedBy(parts, followers),
    h(
      "details.popover",
      {},
      h("summary", { "data-keep": "along" }, "Cutout, pocket or keep-out along it…"),
      h("div.popover-body", {}, form(parts, kind, item)),
    ),
  );
}

/** @param {Parts} parts @param {string[]} ids */
const followedBy = ({ actions }, ids) =>
  ids.length ? h("p.quiet", {}, "Followed by ", ids.map((id) => [button(id, () => actions.select([id]), { class: "link" }), " "])) : null;

/** @param {Parts} parts @param {Kind} kind @param {Item} item */
function form({ store, actions, api, ask }, kind, item) {
  const { unit } = store.get();
  const what = h(
    "select",
    { "aria-label": "Make" },
    [
      ["cutout", "a cutout"],
      ["pocket", "a pocket"],
      ["keep-out", "a keep-out"],
    ].map(([value, words]) => h("option", { value }, words)),
  );
  const clearance = h("input", { type: "text", "aria-label": "Clearance all round", value: format(1, unit) });
  const depth = h("input", { type: "text", "aria-label": "Depth of the pocket", value: format(4, unit), disabled: true });
  const screwed = kind === "board" || (kind === "device" && (item.holes ?? []).length > 0);
  const holes = h("input", { type: "checkbox", checked: screwed });
  what.addEventListener("change", () => {
    depth.disabled = what.value !== "pocket";
  });
  const make = () => {
    const [room, deep] = [lengthOf(actions, clearance.value, unit), lengthOf(actions, depth.value, unit)];
    if (room === null || deep === null) return null;
    return ask("Along its outline", async () => {
      const { document } = store.get();
      const made = await api.post("/api/follow", {
        document,
        item: item.id,
        kind: what.value,
        clearance_mm: room,
        depth_mm: deep,
        holes: screwed && holes.checked,
      });
      if (store.get().document !== document) return;
      actions.commit(made.document, `Add ${made.ids.join(", ")} along ${item.id}`, { selection: made.ids, spot: null });
      actions.say([`${made.ids.join(", ")} added; ${made.ids.length > 1 ? "they follow" : "it follows"} ${item.id}.`, ...made.messages].join(" "));
    });
  };
  return [
    h("label", {}, "Make ", what),
    h("label", {}, "Clearance ", clearance),
    h("label", {}, "Depth ", depth),
    screwed ? h("label.check", {}, holes, " Drill its screw holes") : null,
    kind === "device" && !screwed
      ? h("p.quiet", {}, "Type the screw holes of its foot under “Kind, footprint and ports” to have them drilled too.")
      : null,
    button("Make it", make),
  ];
}

/** What an area or a screw hole follows, and the way out of it. @param {Parts} parts @param {Item} item */
export function followed(parts, item) {
  const { store, actions, api, ask } = parts;
  const { follows } = item;
  if (!follows && !item.cable) return null;
  const { unit } = store.get();
  const loose = () =>
    actions.edit(`${item.id}: stop following`, (d) =>
      change(d, item.id, (now) => (follows ? put(now, ["follows"], undefined) : put(now, ["cable", "in_step"], false))),
    );
  const step = () =>
    ask("What follows", async () => {
      const { document } = store.get();
      const made = await api.post("/api/follow/step", { document });
      if (store.get().document !== document) return;
      if (made.ids.length) actions.commit(made.document, `Move ${made.ids.join(", ")} with what ${made.ids.length > 1 ? "they follow" : "it follows"}`);
      actions.say(made.ids.length ? `${made.ids.join(", ")} updated.` : "Everything is where it should be: nothing had to move.");
    });
  const buttons = [button("Update it now", step, { "data-keep": "in-step" }), button("Stop following", loose, { "data-keep": "cut-loose" })];
  if (!follows) return cableSlot(parts, item, isLed(item) ? buttons : []);
  const room = follows.hole ? "" : `, ${format(follows.clearance_mm ?? DEFAULTS.Follow.clearance_mm, unit, 2)} ${unit} all round`;
  return h(
    "div.actions-row",
    { role: "group", "aria-label": "Follows" },
    h(
      "p.quiet",
      {},
      "Follows ",
      button(follows.item, () => actions.select([follows.item]), { class: "link" }),
      follows.hole ? ` hole ${follows.hole}` : "",
      `${room}.`,
    ),
    buttons,
  );
}
