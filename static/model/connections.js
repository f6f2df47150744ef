/**
 * What is to be joined by channels: `loop.connections`, lists of ids of ports. Pure.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {import("../types.js").Point} Point
 * @typedef {{ports: string[], parts: string[][]}} Connection
 *   parts: its ports, those that channels join already together; one part alone when all is joined
 * @typedef {NonNullable<import("../format_types.js").Device["ports"]>[0]} DevicePort
 */

import { DEFAULTS } from "../format.js";
import { distance } from "../geometry/path.js";
import { find, itemsOf, rootOf } from "./document.js";
import { put } from "./edit.js";
import { createSets } from "./sets.js";

/** More ports than this are not taken in one connection: the format's own bound. */
const MOST_PORTS = 40;

/** A connection in words. @param {string[]} ports */
export const inWords = (ports) => ports.join(" – ");

/** What channels join. @param {PlateDocument} document */
function joinedByChannels(document) {
  const sets = createSets();
  for (const { start, end } of itemsOf(document, "channel")) if (start && end) sets.join(start, end);
  return sets;
}

/** Every connection, with what is joined already. @param {PlateDocument} document @returns {Connection[]} */
export function connectionsOf(document) {
  const { top } = joinedByChannels(document);
  return (document.loop?.connections ?? []).map((ports) => {
    /** @type {Map<string, string[]>} */
    const parts = new Map();
    for (const id of ports) parts.set(top(id), [...(parts.get(top(id)) ?? []), id]);
    return { ports, parts: [...parts.values()] };
  });
}

/**
 * The shortest straight lines that would join what is still open, mm.
 * @param {PlateDocument} document @param {Map<string, Point>} [roots] as the drawing has them @returns {[Point, Point][]}
 */
export function openLines(document, roots) {
  return connectionsOf(document).flatMap(({ parts }) => {
    const places = parts.map((part) =>
      part.map((id) => rootOf(document, id, roots)).filter((place) => place !== null),
    );
    return spanning(places.filter((part) => part.length));
  });
}

/** Parts joined one after another, the nearest first (Prim). @param {Point[][]} parts @returns {[Point, Point][]} */
function spanning(parts) {
  /** @type {[Point, Point][]} */
  const lines = [];
  let [inside, ...rest] = parts;
  while (rest.length) {
    const from = inside;
    const all = rest.flatMap((part) =>
      part.flatMap((b) => from.map((a) => ({ part, line: /** @type {[Point, Point]} */ ([a, b]) }))),
    );
    const best = all.reduce((x, y) => (distance(...y.line) < distance(...x.line) ? y : x));
    lines.push(best.line);
    inside = [...inside, ...best.part];
    rest = rest.filter((part) => part !== best.part);
  }
  return lines;
}

/** Why the selected items cannot become a connection; empty when they can. @param {PlateDocument} document @param {string[]} ids */
export function whyNotJoined(document, ids) {
  const ports = ids.filter((id) => find(document, id)?.kind === "port");
  if (ports.length < 2) return "Select two or more ports first: click one, then the others with Shift held.";
  if (ports.length < ids.length) {
    const other = ids.find((id) => !ports.includes(id));
    return `${other} is not a port. Select ports only.`;
  }
  if (ports.length > MOST_PORTS) return `A connection joins at most ${MOST_PORTS} ports.`;
  const taken = ports.find((id) => (document.loop?.connections ?? []).some((one) => one.includes(id)));
  return taken ? `${taken} is in a connection already. Remove that connection first.` : "";
}

/** @param {PlateDocument} document @param {string[][]} connections @returns {PlateDocument} */
const withConnections = (document, connections) =>
  put(document, ["loop", "connections"], connections.length ? connections : undefined);

/** A connection more. @param {PlateDocument} document @param {string[]} ports */
export const join = (document, ports) => withConnections(document, [...(document.loop?.connections ?? []), ports]);

/** A connection less. @param {PlateDocument} document @param {number} index */
export const withoutConnection = (document, index) =>
  withConnections(
    document,
    (document.loop?.connections ?? []).filter((_, i) => i !== index),
  );

/** Where coolant leaves a device and where it enters: `Device.port`, by the direction or else the name or the place in the list of each port. @param {PlateDocument} document @param {string} id */
function endsOf(document, id) {
  const ports = itemsOf(document, "device").find((device) => device.id === id)?.ports ?? [];
  const is = (/** @type {DevicePort} */ port, /** @type {"in"|"out"} */ way) =>
    port.flow === way || ((port.flow ?? DEFAULTS.DevicePort.flow) === "either" && port.id.toLowerCase().startsWith(way));
  let ins = ports.filter((port) => is(port, "in"));
  let outs = ports.filter((port) => is(port, "out"));
  let said = "";
  // Either port of such a device may be the inlet.
  if (!ins.length && !outs.length && ports.length === 2) {
    [ins, outs] = [[ports[0]], [ports[1]]];
    said = `${id}: ${ports[0].id} is taken as the inlet, ${ports[1].id} as the outlet.`;
  }
  const names = (/** @type {DevicePort[]} */ list) => list.map((port) => `${id}.${port.id}`);
  return { ins: names(ins), outs: names(outs), said };
}

/** The order of the devices as the loop has it now: by tubes, channels and connections, else as they are listed. @param {PlateDocument} document @returns {string[]} */
export function orderOf(document) {
  const sets = joinedByChannels(document);
  for (const port of itemsOf(document, "port")) if (port.serves) sets.join(port.serves, port.id);
  for (const tube of document.loop?.tubes ?? []) sets.join(tube.start, tube.end);
  for (const [first, ...others] of document.loop?.connections ?? []) for (const id of others) sets.join(first, id);
  const devices = itemsOf(document, "device").filter((device) => (device.ports ?? []).length > 1);
  let rest = devices.map((device) => device.id);
  let next = devices.find((device) => device.kind === "pump")?.id ?? rest[0];
  const order = [];
  while (next) {
    order.push(next);
    rest = rest.filter((id) => id !== next);
    const leaves = new Set(endsOf(document, next).outs.map(sets.top));
    next = rest.find((id) => endsOf(document, id).ins.some((ref) => leaves.has(sets.top(ref)))) ?? rest[0];
  }
  return order;
}

/** What is wrong with an order that was typed; empty when nothing is. @param {PlateDocument} document @param {string[]} order */
export function orderFault(document, order) {
  const devices = itemsOf(document, "device").map((device) => device.id);
  const unknown = order.find((id) => !devices.includes(id));
  if (unknown) return `There is no device ${unknown}. Devices: ${devices.join(", ") || "none yet"}.`;
  const twice = order.find((id, i) => order.indexOf(id) !== i);
  if (twice) return `${twice} is named twice. Name each device once.`;
  return order.length < 2 ? "Name at least two devices." : "";
}

/**
 * Connections for devices in a ring: the ports under the outlets of each joined with those under the inlets of the
 * next, and the last with the first. Pairs that a tube joins need none. A connection in the way is replaced.
 * @param {PlateDocument} document @param {string[]} order ids of devices without a fault
 * @returns {{document: PlateDocument, said: string[]}} said: what to know of it, in sentences
 */
export function fromOrder(document, order) {
  const said = order.map((id) => endsOf(document, id).said).filter(Boolean);
  let connections = document.loop?.connections ?? [];
  let made = 0;
  order.forEach((id, i) => {
    const [from, to] = [endsOf(document, id).outs, endsOf(document, order[(i + 1) % order.length]).ins];
    const pair = `${id} to ${order[(i + 1) % order.length]}`;
    if (tubed(document, from, to)) return said.push(`${pair}: joined by a tube.`);
    const [left, right] = [served(document, from), served(document, to)];
    if (!left.length || !right.length)
      return said.push(`${pair}: no port serves ${(left.length ? to : from).join(" or ") || "it"}.`);
    const ports = [...new Set([...left, ...right])];
    if (connections.some((one) => ports.every((port) => one.includes(port)))) return made;
    for (const old of connections.filter((one) => one.some((port) => ports.includes(port))))
      said.push(`${inWords(old)} is replaced.`);
    connections = [...connections.filter((one) => !one.some((port) => ports.includes(port))), ports];
    return (made += 1);
  });
  said.unshift(made === 1 ? "1 new connection." : `${made || "No"} new connections.`);
  return { document: made ? withConnections(document, connections) : document, said };
}

/** @param {PlateDocument} document @param {string[]} from @param {string[]} to */
const tubed = (document, from, to) =>
  (document.loop?.tubes ?? []).some(
    ({ start, end }) => (from.includes(start) && to.includes(end)) || (from.includes(end) && to.includes(start)),
  );

/** The plate's ports that serve ports of devices. @param {PlateDocument} document @param {string[]} refs */
const served = (document, refs) =>
  itemsOf(document, "port")
    .filter((port) => port.serves && refs.includes(port.serves))
    .map((port) => port.id);
