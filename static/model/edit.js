/**
 * Edits: pure functions from a document to a new one. What is not touched is shared, nothing is changed in place.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Point} Point
 */

import { KINDS, find, itemsOf, kindInfo, newId } from "./document.js";

/** To the micrometre: what a drag or a sum of decimals leaves behind would only be noise in the file. @param {number} value */
export const micro = (value) => Math.round(value * 1e6) / 1e6 + 0;

/** A document with a value put at a path; `undefined` takes the key away. @template T @param {T} whole @param {(string|number)[]} path @param {any} value @returns {T} */
export function put(whole, path, value) {
  if (!path.length) return value;
  const [key, ...rest] = path;
  const base = /** @type {any} */ (whole ?? (typeof key === "number" ? [] : {}));
  const copy = Array.isArray(base) ? [...base] : { ...base };
  const next = rest.length ? put(base[key], rest, value) : value;
  if (next === undefined && !Array.isArray(copy)) delete copy[key];
  else copy[key] = next;
  return /** @type {any} */ (copy);
}

/** @param {any} whole @param {(string|number)[]} path */
export const dig = (whole, path) => path.reduce((part, key) => part?.[key], whole);

/** @param {PlateDocument} document @param {string} kind @param {Item[]} items @returns {PlateDocument} */
export const withItems = (document, kind, items) => put(document, kindInfo(kind).path, items);

/** An item changed by a function. @param {PlateDocument} document @param {string} id @param {(item: Item, kind: string) => Item} change @returns {PlateDocument} */
export function change(document, id, change) {
  const found = find(document, id);
  if (!found) return document;
  return put(document, [...kindInfo(found.kind).path, found.index], change(found.item, found.kind));
}

/** A value of an item; `null` or `undefined` takes it away, so that the format's own applies. @param {PlateDocument} document @param {string} id @param {(string|number)[]} path @param {any} value */
export function setValue(document, id, path, value) {
  return change(document, id, (item) => put(item, path, value ?? undefined));
}

/** A new item with a fresh id. @param {PlateDocument} document @param {string} kind @param {Item} values @returns {{document: PlateDocument, id: string}} */
export function add(document, kind, values) {
  const id = newId(document, kind);
  return { document: withItems(document, kind, [...itemsOf(document, kind), { id, ...values }]), id };
}

/** An outline moved. @param {Item} outline @param {number} dx @param {number} dy */
export function outlineMoved(outline, dx, dy) {
  if (outline.shape === "polygon") {
    return { ...outline, vertices: outline.vertices.map((/** @type {Item} */ v) => placeMoved(v, dx, dy)) };
  }
  return placeMoved(outline, dx, dy);
}

/** @param {Item} place @param {number} dx @param {number} dy */
const placeMoved = (place, dx, dy) => ({
  ...place,
  x_mm: micro((place.x_mm ?? 0) + dx),
  y_mm: micro((place.y_mm ?? 0) + dy),
});

/** Whether an item can be moved: it is not locked, and nothing else holds it. @param {Item} item @param {string} kind */
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

/** @param {Item} item @param {string} kind @param {number} dx @param {number} dy @returns {Item} */
function itemMoved(item, kind, dx, dy) {
  if (kind === "channel")
    return { ...item, points: (item.points ?? []).map((/** @type {Item} */ p) => placeMoved(p, dx, dy)) };
  // A device's outline is in its own axes: only its place moves.
  if (item.outline && kind !== "device") return { ...item, outline: outlineMoved(item.outline, dx, dy) };
  return placeMoved(item, dx, dy);
}

/** @param {PlateDocument} before @param {PlateDocument} after @param {Set<string>} moved @param {number} dx @param {number} dy */
function withSquareLegs(before, after, moved, dx, dy) {
  const channels = itemsOf(after, "channel");
  const changed = channels.map((channel) => {
    if (moved.has(channel.id)) return channel;
    let points = channel.points ?? [];
    if (!points.length) return channel;
    for (const end of ["start", "end"]) {
      if (!channel[end] || !moved.has(channel[end])) continue;
      const held = find(before, channel[end])?.item;
      const [at, beyond] = end === "start" ? [0, 1] : [points.length - 1, points.length - 2];
      const other = channel[end === "start" ? "end" : "start"];
      const next = points[beyond] ?? (other && !moved.has(other) ? find(before, other)?.item : null);
      if (held) points = put(points, [at], legMoved(points[at], held, next, dx, dy));
    }
    return points === channel.points ? channel : { ...channel, points };
  });
  return withItems(after, "channel", changed);
}

/** A corner next to a moved end, if both its legs run along the axes. @param {Item} corner @param {Item} held @param {Item|null|undefined} next @param {number} dx @param {number} dy */
function legMoved(corner, held, next, dx, dy) {
  const same = (/** @type {number} */ a, /** @type {number} */ b) => Math.abs(a - b) < 1e-6;
  if (same(corner.x_mm, held.x_mm) && !same(corner.y_mm, held.y_mm) && (!next || same(next.y_mm, corner.y_mm)))
    return placeMoved(corner, dx, 0);
  if (same(corner.y_mm, held.y_mm) && !same(corner.x_mm, held.x_mm) && (!next || same(next.x_mm, corner.x_mm)))
    return placeMoved(corner, 0, dy);
  return corner;
}

/**
 * Items taken out. Their ids are retired; a channel that ended at one ends freely in the same place; groups, fittings'
 * readings and holders forget them.
 * @param {PlateDocument} document @param {string[]} ids @returns {PlateDocument}
 */
export function remove(document, ids) {
  const gone = new Set(ids.filter((id) => find(document, id)));
  if (!gone.size) return document;
  let next = document;
  for (const { kind } of KINDS) {
    const items = itemsOf(document, kind);
    if (items.some((item) => gone.has(item.id)))
      next = withItems(
        next,
        kind,
        items.filter((item) => !gone.has(item.id)),
      );
  }
  const devicePorts = new Set(
    itemsOf(document, "device")
      .filter((d) => gone.has(d.id))
      .flatMap((d) => (d.ports ?? []).map((/** @type {Item} */ p) => `${d.id}.${p.id}`)),
  );
  next = withItems(
    next,
    "channel",
    itemsOf(next, "channel")
      .map((channel) => freed(document, channel, gone))
      .filter(hasCourse),
  );
  const lost = itemsOf(document, "channel")
    .map((c) => c.id)
    .filter((id) => !find(next, id));
  lost.forEach((id) => gone.add(id));
  if (devicePorts.size) {
    next = withItems(
      next,
      "port",
      itemsOf(next, "port").map((port) => (devicePorts.has(port.serves) ? put(port, ["serves"], undefined) : port)),
    );
    const tubes = next.loop?.tubes ?? [];
    const kept = tubes.filter((/** @type {Item} */ tube) => !devicePorts.has(tube.start) && !devicePorts.has(tube.end));
    if (kept.length < tubes.length) next = put(next, ["loop", "tubes"], kept);
  }
  for (const kind of ["board", "device"]) {
    const items = itemsOf(next, kind);
    if (items.some((item) => gone.has(item.held_by))) {
      next = withItems(
        next,
        kind,
        items.map((item) =>
          gone.has(item.held_by) ? put(put(item, ["held_by"], undefined), ["slot"], undefined) : item,
        ),
      );
    }
  }
  if (
    (next.groups ?? []).some((/** @type {Item} */ group) =>
      (group.members ?? []).some((/** @type {string} */ m) => gone.has(m)),
    )
  ) {
    next = put(
      next,
      ["groups"],
      next.groups.map((/** @type {Item} */ group) => ({
        ...group,
        members: (group.members ?? []).filter((/** @type {string} */ m) => !gone.has(m)),
      })),
    );
  }
  if ((next.fit_readings ?? []).some((/** @type {Item} */ reading) => gone.has(reading.port))) {
    next = put(
      next,
      ["fit_readings"],
      next.fit_readings.filter((/** @type {Item} */ reading) => !gone.has(reading.port)),
    );
  }
  return put(
    next,
    ["retired_ids"],
    [...(document.retired_ids ?? []), ...[...gone].filter((id) => !(document.retired_ids ?? []).includes(id))],
  );
}

/** A channel whose lost ends have become free points in the same place. @param {PlateDocument} document @param {Item} channel @param {Set<string>} gone @returns {Item} */
function freed(document, channel, gone) {
  let next = channel;
  for (const end of ["start", "end"]) {
    if (!next[end] || !gone.has(next[end])) continue;
    const held = find(document, next[end])?.item;
    const points = next.points ?? [];
    const place = { x_mm: held?.x_mm ?? 0, y_mm: held?.y_mm ?? 0 };
    next = { ...put(next, [end], undefined), points: end === "start" ? [place, ...points] : [...points, place] };
  }
  return next;
}

/** @param {Item} channel */
const hasCourse = (channel) => (channel.points ?? []).length + (channel.start ? 1 : 0) + (channel.end ? 1 : 0) >= 2;

/** Whether an item is locked, set for several. @param {PlateDocument} document @param {string[]} ids @param {boolean} locked */
export function lock(document, ids, locked) {
  return ids.reduce((next, id) => setValue(next, id, ["locked"], locked || undefined), document);
}

/** A new group of the items; an item already in another group leaves it. @param {PlateDocument} document @param {string[]} ids @param {string} name */
export function group(document, ids, name) {
  const members = ids.filter((id) => find(document, id)?.kind !== "group");
  const thinned = put(
    document,
    ["groups"],
    (document.groups ?? []).map((/** @type {Item} */ g) => ({
      ...g,
      members: (g.members ?? []).filter((/** @type {string} */ m) => !members.includes(m)),
    })),
  );
  const emptied = (thinned.groups ?? [])
    .filter((/** @type {Item} */ g) => !g.members.length)
    .map((/** @type {Item} */ g) => g.id);
  return add(emptied.length ? remove(thinned, emptied) : thinned, "group", { name, members });
}

/** Groups that hold any of the items, dissolved. @param {PlateDocument} document @param {string[]} ids */
export function ungroup(document, ids) {
  const groups = (document.groups ?? []).filter(
    (/** @type {Item} */ g) =>
      ids.includes(g.id) || (g.members ?? []).some((/** @type {string} */ m) => ids.includes(m)),
  );
  return remove(
    document,
    groups.map((/** @type {Item} */ g) => g.id),
  );
}

/** The values of a certain mend, set at their JSON pointers. @param {PlateDocument} document @param {{pointer: string, value: any}[]} changes */
export function applyChanges(document, changes) {
  return changes.reduce((next, { pointer, value }) => put(next, pointerPath(next, pointer), value), document);
}

/** A JSON pointer (RFC 6901) as a path of keys. @param {any} document @param {string} pointer @returns {(string|number)[]} */
export function pointerPath(document, pointer) {
  let part = document;
  return pointer
    .split("/")
    .slice(1)
    .map((raw) => {
      const key = raw.replaceAll("~1", "/").replaceAll("~0", "~");
      const step = Array.isArray(part) ? Number(key) : key;
      part = part?.[step];
      return step;
    });
}
