/**
 * What a key can name: items of the document, or rows of the published tables. The format alone says only "text" there.
 *
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 * @typedef {{id?: string, name?: string}} Named
 */

import { TABLES } from "../format.js";
import { everyItem, itemsOf } from "./document.js";

/** Screw sizes that fit a lid. */
export const LID_SCREWS = ["M3", "M4", "M5"];

/** @param {string} name @returns {string[]} */
const same = (name) => [name, name];

/** @param {Named} item @returns {string[]} */
const entry = (item) => [item.id ?? "", item.name ? `${item.id} ${item.name}` : (item.id ?? "")];

/** Every port of every device, as `D1.in`. @param {PlateDocument} document @returns {string[][]} */
export const devicePorts = (document) =>
  itemsOf(document, "device").flatMap((device) =>
    (device.ports ?? []).map((port) => {
      const ref = `${device.id}.${port.id}`;
      return [ref, device.name ? `${ref} (${device.name})` : ref];
    }),
  );

/** Device ports that no other port of the plate serves. @param {PlateDocument} document @param {string} port the port that asks */
function unserved(document, port) {
  const taken = new Set(
    itemsOf(document, "port")
      .filter((one) => one.id !== port)
      .map((one) => one.serves),
  );
  return devicePorts(document).filter(([ref]) => !taken.has(ref));
}

/** @type {Record<string, (document: PlateDocument, id: string) => string[][]>} */
const FROM_DOCUMENT = {
  "Port.serves": unserved,
  "Landing.serves": devicePorts,
  "Tube.start": devicePorts,
  "Tube.end": devicePorts,
  "Channel.start": (document) => [...itemsOf(document, "port"), ...itemsOf(document, "branch")].map(entry),
  "Channel.end": (document) => [...itemsOf(document, "port"), ...itemsOf(document, "branch")].map(entry),
  "Board.held_by": holders,
  "Device.held_by": holders,
  "FitReading.port": (document) => itemsOf(document, "port").map(entry),
  "Tie.item": (document) =>
    everyItem(document)
      .filter(({ kind }) => kind === "board" || kind === "device" || kind === "obstacle")
      .map(({ item }) => entry(item)),
  "Follow.item": (document) =>
    everyItem(document)
      .filter(({ kind }) => ["board", "device", "obstacle", "opening"].includes(kind))
      .map(({ item }) => entry(item)),
  "Survey.origin": surveyPoints,
  "Survey.along_x": surveyPoints,
  "Surveyed.centre": surveyPoints,
  "Reading.tool": (document) => (document.survey?.tools ?? []).map(entry),
};

/** @param {PlateDocument} document @param {string} id */
function holders(document, id) {
  return [...itemsOf(document, "board"), ...itemsOf(document, "device")].filter((one) => one.id !== id).map(entry);
}

/** @param {PlateDocument} document */
function surveyPoints(document) {
  return (document.survey?.points ?? []).map(entry);
}

/** @type {Record<string, string[][]>} */
const FROM_TABLES = {
  "Board.pattern": TABLES.patterns.map(same),
  "Hole.screw": TABLES.screws.map(same),
  "Seal.screw": LID_SCREWS.map(same),
  "Course.size": TABLES.tube_sizes.map(same),
  "Tube.size": TABLES.tube_sizes.map(same),
  "Loop.tube_size": TABLES.tube_sizes.map(same),
  "Port.thread": TABLES.threads.map(same),
  "DevicePort.thread": TABLES.threads.map(same),
};

/**
 * What can be chosen for a key, or null where anything can be typed.
 * @param {PlateDocument} document @param {string} model @param {string} key @param {string} [id] of the item that asks
 * @returns {string[][]|null}
 */
export function choicesFor(document, model, key, id = "") {
  const name = `${model}.${key}`;
  return FROM_TABLES[name] ?? FROM_DOCUMENT[name]?.(document, id) ?? null;
}
