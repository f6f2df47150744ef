/**
 * Edits: pure functions from a document to a new one. What is not touched is shared, nothing is changed in place.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("../types.js").Kind} Kind
 * @typedef {import("../types.js").Outline} Outline
 * @typedef {import("../types.js").Kinds["channel"]} Channel
 */

import { KINDS, everyItem, find, itemsOf, kindInfo, newId, placeOf } from "./document.js";

/** The keys of a channel's ends. */
export const ENDS = /** @type {const} */ (["start", "end"]);

/** The lists whose items can follow a thing in the case. */
const FOLLOWING = /** @type {const} */ (["cutouts", "pockets", "keep_outs", "holes"]);

/** To the micrometre: what a drag or a sum of decimals leaves behind would only be noise in the file. @param {number} value */
export const micro = (value) => Math.round(value * 1e6) / 1e6 + 0;

/** A document with a value put at a path; `undefined` takes the key away. @template T @param {T} whole @param {(string|number)[]} path @param {unknown} value @returns {T} */
export function put(whole, path, value) {
  if (!path.length) return /** @type {T} */ (value);
  const [key, ...rest] = path;
  /** @type {any} any: a path is only known when the program runs, so nothing can be said of what it leads to */
  const base = whole ?? (typeof key === "number" ? [] : {});
  const copy = Array.isArray(base) ? [...base] : { ...base };
  const next = rest.length ? put(base[key], rest, value) : value;
  if (next === undefined && !Array.isArray(copy)) delete copy[key];
  else copy[key] = next;
  return copy;
}

/** What stands at a path, if anything does. @param {unknown} whole @param {(string|number)[]} path @returns {unknown} */
export const dig = (whole, path) =>
  path.reduce((part, key) => /** @type {Record<string|number, unknown>|null|undefined} */ (part)?.[key], whole);

/** @param {PlateDocument} document @param {Kind} kind @param {unknown[]} items @returns {PlateDocument} */
export const withItems = (document, kind, items) => put(document, kindInfo(kind).path, items);

/** An item changed by a function. @param {PlateDocument} document @param {string} id @param {(item: Item, kind: Kind) => Item} change @returns {PlateDocument} */
export function change(document, id, change) {
  const found = find(document, id);
  if (!found) return document;
  return put(document, [...kindInfo(found.kind).path, found.index], change(found.item, found.kind));
}

/** A value of an item; `null` or `undefined` takes it away, so that the format's own applies. @param {PlateDocument} document @param {string} id @param {(string|number)[]} path @param {unknown} value */
export function setValue(document, id, path, value) {
  return change(document, id, (item) => put(item, path, value ?? undefined));
}

/** A new item with a fresh id. @template {Kind} K @param {PlateDocument} document @param {K} kind @param {Omit<Item, "id">|Omit<import("../types.js").Kinds[K], "id">} values @returns {{document: PlateDocument, id: string}} */
export function add(document, kind, values) {
  const id = newId(document, kind);
  return { document: withItems(document, kind, [...itemsOf(document, kind), { id, ...values }]), id };
}

/** An outline moved. @param {Outline} outline @param {number} dx @param {number} dy @returns {Outline} */
export function outlineMoved(outline, dx, dy) {
  if (outline.shape === "polygon") return { ...outline, vertices: outline.vertices.map((v) => placeMoved(v, dx, dy)) };
  return placeMoved(outline, dx, dy);
}

/** Anything with a place, moved. @template {{x_mm?: number, y_mm?: number}} P @param {P} place @param {number} dx @param {number} dy */
const placeMoved = (place, dx, dy) => ({
  ...place,
  x_mm: micro((place.x_mm ?? 0) + dx),
  y_mm: micro((place.y_mm ?? 0) + dy),
});

/** Whether an item can be moved: it is not locked, and nothing else holds it. @param {Item} item @param {Kind} kind */
export const movable = (item, kind) => !item.locked && !item.held_by && kind !== "group";

/**
 * Items moved together. Legs of channels that were square to the plate stay so: the corner next to a moved end
 * follows along one axis.
 * @param {PlateDocument} document @param {string[]} ids @param {number} dx mm @param {number} dy mm
 * @param {{square?: boolean}} [options] square: whether legs stay square (they do when it is not said)
 * @returns {PlateDocument}
 */
export function move(document, ids, dx, dy, { square = true } = {}) {
  if (!dx && !dy) return document;
  const moved = new Set(
    ids.filter((id) => {
      const found = find(document, id);
      return found && movable(found.item, found.kind);
    }),
  );
  let next = document;
  for (const { kind } of KINDS) {
    const items = itemsOf(document, kind);
    if (!items.some((item) => moved.has(item.id))) continue;
    next = withItems(
      next,
      kind,
      items.map((item) => (moved.has(item.id) ? itemMoved(item, kind, dx, dy) : item)),
    );
  }
  return square ? withSquareLegs(document, next, moved, dx, dy) : next;
}

/** @param {Item} item @param {Kind} kind @param {number} dx @param {number} dy @returns {Item} */
export function itemMoved(item, kind, dx, dy) {
  if (kind === "group") return item; // it is where its members are
  if (kind === "channel" || kind === "tube")
    return { ...item, points: (item.points ?? []).map((p) => placeMoved(p, dx, dy)) };
  if (kind === "port") return portMoved(item, dx, dy);
  if (kind === "dimension") return dimensionMoved(item, dx, dy);
  // A device's outline is in its own axes: only its place moves.
  if (item.outline && kind !== "device") return withCourse({ ...item, outline: outlineMoved(item.outline, dx, dy) }, (p) => placeMoved(p, dx, dy));
  return placeMoved(item, dx, dy);
}

/** A cable slot's corners go with its outline. @param {Item} item @param {(place: {x_mm: number, y_mm: number}) => {x_mm: number, y_mm: number}} to @returns {Item} */
export const withCourse = (item, to) => (item.cable?.points?.length ? put(item, ["cable", "points"], item.cable.points.map(to)) : item);

/** Only fixed points move: the rest follows what is measured. @param {Item} item @param {number} dx @param {number} dy @returns {Item} */
function dimensionMoved(item, dx, dy) {
  /** @param {Item["first"]} end */
  const moved = (end) => (end?.item ? end : placeMoved(end ?? {}, dx, dy));
  return { ...item, first: moved(item.first), second: moved(item.second) };
}

/** Corners of its tube that stand right over a port stay over it. @param {Item} port @param {number} dx @param {number} dy @returns {Item} */
function portMoved(port, dx, dy) {
  const moved = placeMoved(port, dx, dy);
  const points = port.tube?.points ?? [];
  const off = points.findIndex((p) => Math.hypot(p.x_mm - (port.x_mm ?? 0), p.y_mm - (port.y_mm ?? 0)) > 0.01);
  const over = off < 0 ? points.length : off;
  if (!over) return moved;
  return put(moved, ["tube", "points"], points.map((p, i) => (i < over ? placeMoved(p, dx, dy) : p)));
}

/** @param {PlateDocument} before @param {PlateDocument} after @param {Set<string>} moved @param {number} dx @param {number} dy */
function withSquareLegs(before, after, moved, dx, dy) {
  const channels = itemsOf(after, "channel");
  const changed = channels.map((channel) => {
    if (moved.has(channel.id)) return channel;
    let points = channel.points ?? [];
    if (!points.length) return channel;
    for (const end of ENDS) {
      const id = channel[end];
      if (!id || !moved.has(id)) continue;
      const held = find(before, id)?.item;
      const [at, beyond] = end === "start" ? [0, 1] : [points.length - 1, points.length - 2];
      const other = channel[end === "start" ? "end" : "start"];
      const next = points[beyond] ?? (other && !moved.has(other) ? find(before, other)?.item : null);
      if (held) points = put(points, [at], legMoved(points[at], placeOf(held), next ? placeOf(next) : null, dx, dy));
    }
    return points === channel.points ? channel : { ...channel, points };
  });
  return withItems(after, "channel", changed);
}

/**
 * A corner next to a moved end, if both its legs run along the axes.
 * @template {{x_mm: number, y_mm: number}} P
 * @param {P} corner @param {Point} held @param {Point|null} next @param {number} dx @param {number} dy
 */
function legMoved(corner, held, next, dx, dy) {
  const same = (/** @type {number} */ a, /** @type {number} */ b) => Math.abs(a - b) < 1e-6;
  const { x_mm: x, y_mm: y } = corner;
  if (same(x, held[0]) && !same(y, held[1]) && (!next || same(next[1], y))) return placeMoved(corner, dx, 0);
  if (same(y, held[1]) && !same(x, held[0]) && (!next || same(next[0], x))) return placeMoved(corner, 0, dy);
  return corner;
}

/**
 * Items taken out. Their ids are retired; a channel that ended at one ends freely in the same place; groups, fit
 * readings, connections, ties, landings and holders forget them.
 * @param {PlateDocument} document @param {string[]} ids @returns {PlateDocument}
 */
export function remove(document, ids) {
  const gone = new Set(ids.filter((id) => find(document, id)));
  if (!gone.size) return document;
  const thinned = without(document, gone);
  const channels = itemsOf(thinned, "channel")
    .map((channel) => freed(document, channel, gone))
    .filter(hasCourse);
  const next = withItems(thinned, "channel", channels);
  for (const { id } of itemsOf(document, "channel")) if (!channels.some((c) => c.id === id)) gone.add(id);
  return withRetired(document, forgotten(next, document, gone));
}

/** A document with the ids retired of all that it has lost, so that none is given out again; no group holds them. @param {PlateDocument} before @param {PlateDocument} after */
export function withRetired(before, after) {
  const retired = after.retired_ids ?? [];
  const left = new Set([...retired, ...everyItem(after).map(({ item }) => item.id)]);
  const gone = everyItem(before).flatMap(({ item }) => (left.has(item.id) ? [] : [item.id]));
  if (!gone.length) return after;
  const grouped = (after.groups ?? []).some(({ members }) => members?.some((id) => gone.includes(id)));
  const next = grouped ? put(after, ["groups"], (after.groups ?? []).map((g) => ({ ...g, members: (g.members ?? []).filter((id) => !gone.includes(id)) }))) : after;
  return put(next, ["retired_ids"], [...retired, ...gone]);
}

/** The lists of items without those that are gone. @param {PlateDocument} document @param {Set<string>} gone */
function without(document, gone) {
  return KINDS.reduce((next, { kind }) => {
    const items = itemsOf(next, kind);
    const kept = items.filter((item) => !gone.has(item.id));
    return kept.length < items.length ? withItems(next, kind, kept) : next;
  }, document);
}

/** What names a lost item no longer does. @param {PlateDocument} next @param {PlateDocument} before @param {Set<string>} gone */
function forgotten(next, before, gone) {
  const lostPorts = new Set(
    itemsOf(before, "device")
      .filter((d) => gone.has(d.id))
      .flatMap((d) => (d.ports ?? []).map((p) => `${d.id}.${p.id}`)),
  );
  const lost = (/** @type {string|null|undefined} */ id) => Boolean(id && (gone.has(id) || lostPorts.has(id)));
  let made = next;
  /** A list changed only where it has to be. @template T @param {string[]} path @param {T[]|undefined} list @param {(list: T[]) => T[]} change */
  const changed = (path, list, change) => {
    if (!list?.length) return;
    const after = change(list);
    if (after.length < list.length || after.some((entry, i) => entry !== list[i])) made = put(made, path, after);
  };
  changed(["ports"], made.ports, (all) =>
    all.map((port) => (lost(port.serves) ? put(port, ["serves"], undefined) : port)),
  );
  changed(["loop", "tubes"], made.loop?.tubes, (all) => all.filter((tube) => !lost(tube.start) && !lost(tube.end)));
  changed(["boards"], made.boards, (all) => all.map((board) => (lost(board.held_by) ? unheld(board) : board)));
  changed(["devices"], made.devices, (all) => all.map((device) => (lost(device.held_by) ? unheld(device) : device)));
  changed(["groups"], made.groups, (all) =>
    all.map((group) => {
      const members = (group.members ?? []).filter((m) => !gone.has(m));
      return members.length < (group.members ?? []).length ? { ...group, members } : group;
    }),
  );
  changed(["fit_readings"], made.fit_readings, (all) => all.filter((reading) => !gone.has(reading.port)));
  changed(["loop", "connections"], made.loop?.connections, (all) =>
    all
      .map((ports) => (ports.some((id) => gone.has(id)) ? ports.filter((id) => !gone.has(id)) : ports))
      .filter((ports) => ports.length > 1),
  );
  for (const key of FOLLOWING)
    changed([key], /** @type {Item[]|undefined} */ (made[key]), (all) =>
      all.map((item) => (lost(item.follows?.item) ? put(item, ["follows"], undefined) : item)),
    );
  // What led a cable out of or into something that is gone is a pocket like any other.
  changed(["pockets"], made.pockets, (all) =>
    all.map((pocket) => (lost(pocket.cable?.start) || lost(pocket.cable?.end) ? put(pocket, ["cable"], undefined) : pocket)),
  );
  changed(["dimensions"], made.dimensions, (all) =>
    all.filter(({ first, second }) => !lost(first?.item) && !lost(second?.item)),
  );
  changed(["ties"], made.ties, (all) => all.filter((tie) => !gone.has(tie.item)));
  changed(["landings"], made.landings, (all) => all.filter((landing) => !lost(landing.serves)));
  return made;
}

/** @template {object} T @param {T} item @returns {T} */
const unheld = (item) => put(put(item, ["held_by"], undefined), ["slot"], undefined);

/** A channel whose lost ends have become free points in the same place. @param {PlateDocument} document @param {Channel} channel @param {Set<string>} gone @returns {Channel} */
function freed(document, channel, gone) {
  let next = channel;
  for (const end of ENDS) {
    const at = next[end];
    if (!at || !gone.has(at)) continue;
    const held = find(document, at)?.item;
    const points = next.points ?? [];
    const place = { x_mm: held?.x_mm ?? 0, y_mm: held?.y_mm ?? 0 };
    next = { ...put(next, [end], undefined), points: end === "start" ? [place, ...points] : [...points, place] };
  }
  return next;
}

/** @param {Channel} channel */
export const hasCourse = (channel) =>
  (channel.points ?? []).length + (channel.start ? 1 : 0) + (channel.end ? 1 : 0) >= 2;

/** Whether an item is locked, set for several. @param {PlateDocument} document @param {string[]} ids @param {boolean} locked */
export function lock(document, ids, locked) {
  return ids.reduce((next, id) => setValue(next, id, ["locked"], locked || undefined), document);
}

/** A new group of the items; an item already in another group leaves it. @param {PlateDocument} document @param {string[]} ids @param {string} name */
export function group(document, ids, name) {
  const members = ids.filter((id) => find(document, id)?.kind !== "group");
  const groups = (document.groups ?? []).map((g) => ({
    ...g,
    members: (g.members ?? []).filter((m) => !members.includes(m)),
  }));
  const thinned = put(document, ["groups"], groups);
  const emptied = groups.filter((g) => !g.members.length).map((g) => g.id);
  return add(emptied.length ? remove(thinned, emptied) : thinned, "group", { name, members });
}

/** Groups that hold any of the items, taken apart. @param {PlateDocument} document @param {string[]} ids */
export function ungroup(document, ids) {
  const groups = (document.groups ?? []).filter(
    (g) => ids.includes(g.id) || (g.members ?? []).some((m) => ids.includes(m)),
  );
  return remove(
    document,
    groups.map((g) => g.id),
  );
}

/** The values of a fix, set at their JSON pointers. @param {PlateDocument} document @param {{pointer: string, value: unknown}[]} changes */
export function applyChanges(document, changes) {
  return changes.reduce((next, { pointer, value }) => put(next, pointerPath(next, pointer), value), document);
}

/** A JSON pointer (RFC 6901) as a path of keys. @param {PlateDocument} document @param {string} pointer @returns {(string|number)[]} */
export function pointerPath(document, pointer) {
  /** @type {unknown} */
  let part = document;
  return pointer
    .split("/")
    .slice(1)
    .map((raw) => {
      const key = raw.replaceAll("~1", "/").replaceAll("~0", "~");
      const step = Array.isArray(part) ? Number(key) : key;
      part = dig(part, [step]);
      return step;
    });
}
