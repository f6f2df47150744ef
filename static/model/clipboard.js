/**
 * Items as text in the clipboard, from one plate to another or within one. Pure.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Kind} Kind
 * @typedef {{kind: Kind, item: Item}} Entry
 */

import { withEnds } from "./dimensions.js";
import { KINDS, find, isWhole, withGroups } from "./document.js";
import { ENDS, add, itemMoved } from "./edit.js";

/** What tells such a text from any other. */
const FORMAT = "plate-items";
/** Kinds in the order in which they go in: what others name comes first. @type {Kind[]} */
const ORDER = [...KINDS.map(({ kind }) => kind).filter((kind) => !["channel", "tube", "dimension", "group"].includes(kind)), "channel", "tube", "dimension", "group"];
/** A text with more than this is a mistake. */
const MOST = 2000;

/** The text for the clipboard; empty when nothing that is selected can be copied. @param {PlateDocument} document @param {string[]} ids */
export function clipboardText(document, ids) {
  const groups = ids.filter((id) => find(document, id)?.kind === "group");
  const wanted = [...new Set([...ids, ...withGroups(document, groups)])];
  const items = wanted.flatMap((id) => {
    const found = find(document, id);
    return found ? [{ kind: found.kind, item: freeEnds(document, found, new Set(wanted)) }] : [];
  });
  return items.length ? JSON.stringify({ format: FORMAT, version: 1, items }) : "";
}

/** A channel whose ends that stay behind have become free points. @param {PlateDocument} document @param {Entry} entry @param {Set<string>} taken */
function freeEnds(document, { kind, item }, taken) {
  if (kind !== "channel") return item;
  const next = { ...item };
  for (const end of ENDS) {
    const held = next[end] && !taken.has(next[end]) ? find(document, next[end])?.item : null;
    if (!held) continue;
    delete next[end];
    const place = { x_mm: held.x_mm ?? 0, y_mm: held.y_mm ?? 0 };
    next.points = end === "start" ? [place, ...(next.points ?? [])] : [...(next.points ?? []), place];
  }
  return next;
}

/**
 * What a text of the clipboard holds, or why it is none.
 * @param {string} text @returns {{entries: Entry[]}|{problem: string}|null} null: it is no text of this kind at all
 */
export function readClipboard(text) {
  if (!text.includes(FORMAT)) return null;
  /** @type {any} any: whatever somebody has put into the clipboard */
  let content;
  try {
    content = JSON.parse(text);
  } catch {
    return { problem: "The items in the clipboard are cut off. Copy them again." };
  }
  if (content?.format !== FORMAT) return null;
  if (content.version !== 1) return { problem: "The items in the clipboard are of a newer program. Update this one." };
  const { items } = content;
  const known = new Set(ORDER);
  const fine =
    Array.isArray(items) &&
    items.length > 0 &&
    items.length <= MOST &&
    items.every((one) => known.has(one?.kind) && typeof one.item?.id === "string");
  return fine ? { entries: items } : { problem: "The clipboard holds no items of a plate that can be read." };
}

/**
 * The items put into a plate, under new ids. What names an item that is neither among them nor in the plate is left out.
 * @param {PlateDocument} document @param {Entry[]} entries @returns {{document: PlateDocument, ids: string[]}}
 */
export function pasted(document, entries) {
  /** @type {Map<string, string>} */
  const names = new Map();
  // Beside the originals, when they are here.
  const by = entries.some(({ item }) => find(document, item.id)) ? 20 : 0;
  let next = document;
  for (const kind of ORDER) {
    for (const { item } of holdersFirst(entries.filter((one) => one.kind === kind))) {
      const { id, locked, ...moved } = by ? itemMoved(item, kind, by, -by) : item;
      const values = linked(next, kind, item.held_by && names.has(item.held_by) ? { ...moved, x_mm: item.x_mm, y_mm: item.y_mm } : moved, names);
      if (!values) continue;
      const made = add(next, kind, values);
      names.set(id, made.id);
      next = made.document;
    }
  }
  return { document: next, ids: [...names.values()] };
}

/** Holders before what they hold. @param {Entry[]} entries @returns {Entry[]} */
function holdersFirst(entries) {
  const ids = new Set(entries.map(({ item }) => item.id));
  /** @type {Entry[]} */
  const done = [];
  let left = entries;
  while (left.length) {
    const ready = left.filter(({ item }) => !item.held_by || !ids.has(item.held_by) || done.some((one) => one.item.id === item.held_by));
    if (!ready.length) return [...done, ...left];
    done.push(...ready);
    left = left.filter((one) => !ready.includes(one));
  }
  return done;
}

/** An item whose names are those of the plate it goes into; null when it cannot be there. @param {PlateDocument} document @param {Kind} kind @param {Omit<Item, "id">} item @param {Map<string, string>} names @returns {Omit<Item, "id">|null} */
function linked(document, kind, item, names) {
  const next = { ...item };
  const here = (/** @type {string|null|undefined} */ id) => (id ? (names.get(id) ?? (find(document, id) ? id : null)) : null);
  if (next.held_by) {
    const holder = here(next.held_by);
    if (holder) next.held_by = holder;
    else {
      delete next.held_by;
      delete next.slot;
    }
  }
  if (kind === "port") delete next.serves; // one tube needs one port
  if (kind === "channel") {
    for (const end of ENDS) if (next[end] && names.has(next[end])) next[end] = names.get(next[end]);
    if ((next.points ?? []).length + ENDS.filter((end) => next[end]).length < 2) return null;
  }
  if (kind === "tube") {
    for (const end of ENDS) {
      const [device, port] = String(next[end]).split(".");
      const now = here(device);
      if (!now) return null;
      next[end] = `${now}.${port}`;
    }
  }
  if (kind === "dimension")
    return withEnds(/** @type {Item} */ (next), (ref) => {
      const [id, ...port] = ref.split(".");
      const now = isWhole(document, id) ? id : here(id);
      return now ? [now, ...port].join(".") : null;
    });
  if (kind === "group") {
    next.members = (next.members ?? []).flatMap((/** @type {string} */ id) => names.get(id) ?? []);
    if (!next.members.length) return null;
  }
  if (next.cable) {
    // A slot goes by what it joins, which is pasted with it; without that it is a pocket.
    const [start, end] = [names.get(next.cable.start), next.cable.end ? names.get(next.cable.end) : null];
    if (start && (end || !next.cable.end)) next.cable = { ...next.cable, start, ...(end ? { end } : {}) };
    else delete next.cable;
  }
  // What followed a thing of the other plate stands by itself here.
  if ("follows" in next) delete next.follows;
  return next;
}
