/** The panel of a single item: its fields, its corners, and what can be done with it. */

import { h } from "../dom.js";
import { FIELDS } from "../format.js";
import { called, find, kindInfo } from "../model/document.js";
import { isLed } from "../model/cableslots.js";
import { choicesFor } from "../model/choices.js";
import { partKinds } from "../model/library.js";
import { boardFor, laidFlat, liesFlat } from "../model/onboard.js";
import { withPorts } from "../model/deviceports.js";
import { outlineBox } from "../geometry/outline.js";
import { format } from "../model/quantity.js";
import { change, dig, lock, move, movable, setValue } from "../model/edit.js";
import { alongActions, followed } from "./along.js";
import { channelCorners } from "./corners.js";
import { deviceCard } from "./devicecard.js";
import { dimensionFacts } from "./dimensioncard.js";
import { COMMON, fieldsOf } from "./fields.js";
import { folded } from "./folded.js";
import { button, field } from "./form.js";
import { itemActions, moveBy } from "./itemactions.js";
import { outlineCorners } from "./outlinecorners.js";
import { outlineTools } from "./outlinetools.js";
import { record } from "./record.js";
import { savePart } from "./savepart.js";
import { ties } from "./tiepoints.js";
import { tubeCourse } from "./tubecard.js";

/**
 * @typedef {import("./itempanel.js").Parts} Parts
 * @typedef {import("./fields.js").Field} Field
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Kind} Kind
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 */

/** What is cut into the plate, and so stands in the shop's tables. @type {Kind[]} */
const CUT_KINDS = ["port", "branch", "cutout", "pocket", "hole"];

/** @param {Parts} parts @param {PlateDocument} document @param {string} id */
export function oneItem(parts, document, id) {
  const found = find(document, id);
  if (!found) return null;
  const { kind, item } = found;
  const { memory } = parts;
  return [
    head(parts, kind, item),
    belongings(parts, document, item),
    fields(parts, document, kind, item, fieldsOf(kind, item)),
    fromDatum(parts, document, kind, item),
    kind === "device" ? deviceCard(parts, itemHost(parts, document, item)) : null,
    kind === "channel" ? channelCorners(parts, document, item) : null,
    tubeCourse(parts, document, kind, item),
    kind === "dimension" ? dimensionFacts(parts, item) : null,
    ties(parts, document, id),
    followed(parts, item),
    kind === "device" || isLed(item) ? null : [outlineCorners(parts, document, id), outlineTools(parts, document, id)],
    alongActions(parts, kind, item),
    kind === "group" ? groupMembers(parts, document, item) : null,
    moveBy(parts),
    itemActions(parts, kind, [id]),
    h(
      "details",
      {
        class: "more",
        open: memory.moreOpen,
        ontoggle: (event) => {
          memory.moreOpen = event.currentTarget.open;
        },
      },
      h("summary", { "data-keep": "named" }, h("h4", {}, "Name and note")),
      fields(parts, document, kind, item, COMMON),
    ),
    partKinds(kind).length
      ? folded(parts.memory.cards, "Save as a part", () => savePart(parts, id), parts.again)
      : null,
    allOf(parts, document, kind, item),
  ];
}

/** What edits of a card are made through. @param {Parts} parts @param {PlateDocument} document @param {Item} item @returns {import("./record.js").Host} */
function itemHost({ store, actions, memory }, document, item) {
  return {
    whole: item,
    document,
    unit: store.get().unit,
    keep: item.id,
    id: item.id,
    memory: memory.cards,
    units: memory.cards.units,
    change: (path, value, what) =>
      actions.edit(`Change ${what.toLowerCase()} of ${item.id}`, (d) =>
        path.join() === "ports"
          ? withPorts(d, item.id, /** @type {{id: string}[]|undefined} */ (value))
          : withValue(d, item.id, path, value),
      ),
  };
}

/** A value of an item; what nothing holds any more stands in no slot. @param {PlateDocument} document @param {string} id @param {import("../types.js").Path} path @param {unknown} value */
function withValue(document, id, path, value) {
  const next = setValue(document, id, path, value);
  return path.join() === "held_by" && !value ? setValue(next, id, ["slot"], undefined) : next;
}

/** Every key of the item. Its corners have their own rows above. @param {Parts} parts @param {PlateDocument} document @param {Kind} kind @param {Item} item */
function allOf(parts, document, kind, item) {
  const { again, memory } = parts;
  const host = { ...itemHost(parts, document, item), keep: `all-${item.id}` };
  const all = () => {
    const box = h("div", {}, record(host, kindInfo(kind).part, [], { skip: ["id"] }));
    // Some parts stand above in the card, too: those who hear their names tell them apart by these words.
    for (const part of box.querySelectorAll("section[aria-label]"))
      part.setAttribute("aria-label", `${part.getAttribute("aria-label")}, all values`);
    return box;
  };
  return folded(memory.cards, "All values", all, again);
}

/** What a thing is called: a card and a riser by what they are. @param {Kind} kind @param {Item} item */
function titleOf(kind, item) {
  const role = kind === "board" && item.role ? FIELDS.Board.role.options.find(([value]) => value === item.role) : null;
  return role?.[1] ?? kindInfo(kind).title;
}

/** @param {Parts} parts @param {Kind} kind @param {Item} item */
function head({ actions }, kind, item) {
  const name = item.name ? h("span.quiet", {}, ` ${item.name}`) : null;
  return h(
    "header.item-head",
    {},
    h("h3", {}, h("span.id", {}, item.id), " ", titleOf(kind, item), name),
    lockBox(Boolean(item.locked), (locked) =>
      actions.edit(`${locked ? "Lock" : "Unlock"} ${item.id}`, (d) => lock(d, [item.id], locked)),
    ),
  );
}

/** @param {boolean} locked @param {(locked: boolean) => void} change */
export const lockBox = (locked, change) =>
  h(
    "label.lock",
    {},
    h("input", {
      type: "checkbox",
      checked: locked,
      "data-keep": "lock",
      onchange: (event) => change(event.currentTarget.checked),
    }),
    "Locked",
  );

/** The group and the holder that the item moves with. @param {Parts} parts @param {PlateDocument} document @param {Item} item */
function belongings({ actions }, document, item) {
  const link = (/** @type {string} */ id, /** @type {string} */ words) =>
    button(words, () => actions.select([id]), { class: "link" });
  const group = (document.groups ?? []).find((g) => (g.members ?? []).includes(item.id));
  return [
    group ? h("p.quiet", {}, "Moves with ", link(group.id, called(group)), ".") : null,
    item.held_by ? h("p.quiet", {}, "Held by ", link(item.held_by, item.held_by), "; moves with it.") : null,
    flatButton(actions, document, item),
  ];
}

/** A device that was held as it stood can be laid onto its board. @param {Parts["actions"]} actions @param {PlateDocument} document @param {Item} item */
function flatButton(actions, document, item) {
  const board = item.held_by ? boardFor(document, [item.held_by]) : null;
  if (!board || find(document, item.id)?.kind !== "device" || liesFlat(item)) return null;
  return h(
    "div.actions-row",
    {},
    button(
      `Lay it flat on ${board.id}`,
      () => actions.edit(`Lay ${item.id} on ${board.id}`, (d) => change(d, item.id, (now) => laidFlat(now, board))),
      { "data-keep": "lay-flat" },
    ),
  );
}

/** @param {Parts} parts @param {PlateDocument} document @param {Kind} kind @param {Item} item @param {Field[]} specs */
const fields = (parts, document, kind, item, specs) =>
  h(
    "div.fields",
    {},
    specs.map((spec) => itemField(parts, document, kind, item, spec)),
  );

/** @param {Parts} parts @param {PlateDocument} document @param {Kind} kind @param {Item} item @param {Field} spec */
function itemField(parts, document, kind, item, spec) {
  const given = dig(item, spec.path);
  const options = spec.options ? null : choicesFor(document, kindInfo(kind).part, String(spec.path[0]), item.id);
  return field(options ? { ...spec, type: "choice", options } : spec, given ?? spec.usual ?? null, {
    unit: parts.store.get().unit,
    keep: `${item.id}-${spec.path.join("-")}`,
    given: given !== undefined && given !== null,
    change: (next) => changed(parts, kind, item, spec, next),
  });
}

/** @param {Parts} parts @param {Kind} kind @param {Item} item @param {Field} spec @param {import("../types.js").FieldValue} next */
function changed(parts, kind, item, spec, next) {
  const { store, actions } = parts;
  const key = spec.path.at(-1);
  if (key === "held_by") {
    held(parts, item, next ? String(next) : null);
    return;
  }
  if ((key === "x_mm" || key === "y_mm") && typeof next === "number" && movable(item, kind)) {
    // By number as by hand: groups and square legs come along.
    const now = Number(dig(find(store.get().document, item.id)?.item, spec.path) ?? 0);
    const [dx, dy] = key === "x_mm" ? [next - now, 0] : [0, next - now];
    const moving = actions.moving([item.id]);
    if (moving.length) actions.edit(`Move ${item.id}`, (d) => move(d, moving, dx, dy));
    else actions.stays([item.id]);
  } else if (kind === "port" && key === "thread" && next === null) {
    actions.edit(`Make ${item.id} a marker`, (d) => change(d, item.id, (port) => ({ ...port, thread: null })));
  } else {
    const usual = spec.usual !== undefined && next === spec.usual && !spec.path.includes("outline");
    actions.edit(`Change ${spec.label.toLowerCase()} of ${item.id}`, (d) =>
      withValue(d, item.id, spec.path, usual || next === "" ? null : next),
    );
  }
}

/** A holder is chosen: the thing stays where it stands, its own numbers are worked out by the server. @param {Parts} parts @param {Item} item @param {string|null} holder */
const held = ({ store, actions, api, ask }, item, holder) =>
  void ask(`${item.id} stays as it was`, async () => {
    const { document } = store.get();
    const made = await api.post("/api/hold", { document, item: item.id, holder });
    if (store.get().document !== document) return;
    actions.commit(made.document, `Change the holder of ${item.id}`);
    actions.say(holder ? `${item.id} is held by ${holder} and stays where it stands.` : `${item.id} stands by itself.`);
  });

/** Where the hole table of the shop has it: from the datum, the front left corner of the box around the plate. @param {Parts} parts @param {PlateDocument} document @param {Kind} kind @param {Item} item */
function fromDatum({ store }, document, kind, item) {
  const unit = store.get().unit;
  const place = CUT_KINDS.includes(kind) ? (item.outline ?? item) : {};
  const { x_mm: x, y_mm: y } = /** @type {{x_mm?: number, y_mm?: number}} */ (place);
  if (x === undefined || y === undefined) return null;
  const [left, front] = outlineBox(document.plate.outline);
  const at = `x ${format(x - left, unit)}, y ${format(y - front, unit)} ${unit}`.replaceAll("-", "−");
  return h("p.quiet.from-datum", { title: "The datum is the front left corner of the plate's bounding box." }, `From the shop's datum: ${at}`);
}

/** What a group holds, each to be selected by itself, or all of them. @param {Parts} parts @param {PlateDocument} document @param {Item} group */
function groupMembers({ actions }, document, group) {
  const members = (group.members ?? []).filter((id) => find(document, id));
  if (!members.length) return null;
  return [
    h(
      "ul.chips",
      { "aria-label": "Members" },
      members.map((id) =>
        h("li", {}, button(id, () => actions.select([id]), { class: "chip", "data-keep": `member-${id}` })),
      ),
    ),
    h(
      "div.actions-row",
      {},
      button("Select all members", () => actions.select(members), { "data-keep": "members" }),
      button(
        `Delete with its ${members.length} ${members.length === 1 ? "member" : "members"}`,
        () => {
          actions.select([group.id, ...members]);
          actions.remove();
        },
        { class: "careful", "data-keep": "delete-members" },
      ),
    ),
  ];
}
