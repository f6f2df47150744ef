/**
 * Every kind of item against every gesture, alone and in unusual orders: what the page's pure edits make of a plate with
 * one of each. The documents that come out are held against the format in Python.
 */

import { frozen, random } from "./harness.js";
import * as arrange from "/static/model/arrange.js";
import { insertSlotCorner, isLed, moveSlotCorner, removeSlotCorner, slotCorners, withSlotCorner } from "/static/model/cableslots.js";
import { branchAt, draw, insertPoint, movePoint, removePoint } from "/static/model/centrelines.js";
import { clipboardText, pasted, readClipboard } from "/static/model/clipboard.js";
import { join, whyNotJoined } from "/static/model/connections.js";
import { withPorts } from "/static/model/deviceports.js";
import { centreOf, everyItem, find, outlineOf, withGroups } from "/static/model/document.js";
import { change, group, lock, move, put, remove, setValue, ungroup } from "/static/model/edit.js";
import { whyItStays, withFollowers } from "/static/model/following.js";
import { cornerPulled, sidePulled, withOutline } from "/static/model/outlines.js";
import { arched, asPolygon, cornerInserted, cornerRemoved, cornerRounded } from "/static/model/polygons.js";
import { gridOf, ringOf } from "/static/model/repeat.js";
import { insertTubePoint, moveTubePoint, removeTubePoint, tubePoints } from "/static/model/tubes.js";
import { pivotOf, turn } from "/static/model/turning.js";

const box = (x, y, w, d) => ({ shape: "rectangle", x_mm: x, y_mm: y, width_mm: w, depth_mm: d });
const round = (x, y, d) => ({ shape: "circle", x_mm: x, y_mm: y, diameter_mm: d });

/** One of each, and what ties them: followers, holders, tubes, a cable slot, dimension lines, groups. */
export const everything = () =>
  frozen({
    version: 1,
    floor: {
      outline: box(200, 150, 400, 300),
      obstacles: [{ id: "O1", outline: box(150, 150, 98, 10), height_mm: 63, bottom_mm: 60 }],
      openings: [{ id: "W1", outline: round(60, 60, 20) }],
    },
    plate: { outline: box(200, 150, 360, 260), body_thickness_mm: 20, lid_thickness_mm: 8 },
    boards: [
      { id: "B1", x_mm: 300, y_mm: 100, z_mm: 60, role: "riser", slots: 2, width_mm: 60, depth_mm: 40, holes: [{ id: "A", u_mm: 5, v_mm: 5 }] },
      { id: "B2", held_by: "B1", slot: 1, role: "card", width_mm: 60, depth_mm: 40 },
    ],
    devices: [
      { id: "D1", kind: "pump", x_mm: 100, y_mm: 220, z_mm: 70, outline: box(0, 0, 40, 40), height_mm: 30, ports: [{ id: "in", u_mm: -14 }, { id: "out", u_mm: 14 }] },
      { id: "D2", kind: "block", held_by: "B2", x_mm: 10, y_mm: 10, outline: round(0, 0, 20), height_mm: 10, ports: [{ id: "in" }, { id: "out", u_mm: 5 }] },
    ],
    ports: [
      { id: "P1", x_mm: 86, y_mm: 220, serves: "D1.in", tube: { points: [{ x_mm: 86, y_mm: 220, z_mm: 60 }] } },
      { id: "P2", x_mm: 114, y_mm: 220, serves: "D1.out" },
      { id: "P3", x_mm: 20, y_mm: 150, face: "edge", heading_deg: 0 },
      { id: "P4", x_mm: 300, y_mm: 220, locked: true },
    ],
    branches: [{ id: "J1", x_mm: 200, y_mm: 220 }],
    channels: [
      { id: "C1", start: "P2", end: "J1", points: [], width_mm: 8, depth_mm: 8 },
      { id: "C2", start: "J1", end: "P4", points: [{ x_mm: 250, y_mm: 240 }], width_mm: 8, depth_mm: 8 },
      { id: "C3", points: [{ x_mm: 40, y_mm: 40 }, { x_mm: 90, y_mm: 40, bend_radius_mm: 5 }, { x_mm: 90, y_mm: 80 }], width_mm: 8, depth_mm: 8 },
    ],
    cutouts: [
      { id: "K1", outline: box(300, 150, 30, 40) },
      { id: "K2", outline: box(330, 120, 62, 42), follows: { item: "B1" } },
    ],
    pockets: [
      { id: "R1", outline: box(150, 150, 100, 12), depth_mm: 5, follows: { item: "O1" } },
      { id: "R2", outline: { shape: "slot", x_mm: 242.5, y_mm: 150, length_mm: 94, width_mm: 4.5 }, depth_mm: 5, cable: { start: "R1", end: "K1" } },
      { id: "R3", outline: { shape: "polygon", vertices: [{ x_mm: 40, y_mm: 180 }, { x_mm: 70, y_mm: 180, bulge: 0.3 }, { x_mm: 70, y_mm: 200, corner_radius_mm: 2 }, { x_mm: 40, y_mm: 200 }] }, depth_mm: 4 },
    ],
    holes: [
      { id: "H1", x_mm: 305, y_mm: 105, screw: "M3", follows: { item: "B1", hole: "A" } },
      { id: "H2", x_mm: 40, y_mm: 270, slot_length_mm: 9, turn_deg: 20 },
    ],
    keep_outs: [{ id: "Z1", outline: box(100, 220, 46, 46), follows: { item: "D1", clearance_mm: 3 } }],
    loop: { tubes: [{ id: "T1", start: "D1.out", end: "D2.in", points: [{ x_mm: 200, y_mm: 200, z_mm: 120 }] }], connections: [["P1", "P3"]] },
    dimensions: [{ id: "M1", first: { item: "K1", part: "centre" }, second: { x_mm: 10, y_mm: 10 } }],
    groups: [{ id: "G1", members: ["B1", "K1", "P2"] }],
    fit_readings: [{ port: "P1", dx_mm: 1, dy_mm: 0 }],
    landings: [{ serves: "D1.in", x_mm: 87, y_mm: 220 }],
    ties: [],
    retired_ids: ["P9"],
  });

/** Boxes about what is known to stand somewhere. */
const extents = (d, ids) =>
  Object.fromEntries(
    ids.map((id) => {
      const at = centreOf(d, id);
      return [id, at && [at[0] - 10, at[1] - 8, at[0] + 10, at[1] + 8]];
    }),
  );
const shaped = (reshape) => (d, ids) => ids.reduce((next, id) => (outlineOf(next, id) && !isLed(find(next, id)?.item) ? withOutline(next, id, reshape) : next), d);
const cornered = (reshape) => shaped((outline) => (outline.shape === "polygon" ? reshape(outline) : reshape(asPolygon(outline))));
const each = (act) => (d, ids) => ids.reduce((next, id) => (find(next, id) ? act(next, id, find(next, id)) : next), d);
const clip = (into, d, ids) => {
  const text = clipboardText(d, ids);
  return text ? pasted(into, readClipboard(text).entries).document : into;
};

/** What hands do, by name: from a document and what is selected to the next. */
export const GESTURES = {
  drag: (d, ids) => move(d, withFollowers(d, withGroups(d, ids)), 12.5, -7.25),
  "drag back": (d, ids) => move(d, withFollowers(d, withGroups(d, ids)), -12.5, 7.25),
  rotate: (d, ids) => turn(d, withFollowers(d, withGroups(d, ids)), pivotOf(d, ids) ?? [100, 100], 37),
  "pull a side": shaped((outline) => (outline.shape === "polygon" ? outline : sidePulled(outline, 0, [10, 10]))),
  "pull a corner": shaped((outline) => cornerPulled(outline, 1, [123, 77])),
  "add a corner": cornered((outline) => cornerInserted(outline, 0, [outline.vertices[0].x_mm + 3, outline.vertices[0].y_mm - 4])),
  "take a corner": cornered((outline) => cornerRemoved(outline, 1)),
  "round a corner": cornered((outline) => cornerRounded(outline, 2, 3)),
  "arch an edge": cornered((outline) => arched(outline, 0, 5)),
  copy: (d, ids) => arrange.copy(d, ids, 20, -20).document,
  "paste here": (d, ids) => clip(d, d, ids),
  "paste elsewhere": (d, ids) => clip(frozen({ version: 1, floor: everything().floor, plate: everything().plate }), d, ids),
  "mirror left": (d, ids) => arrange.mirror(d, ids, { axis: "x", at: 200 }).document,
  "mirror front": (d, ids) => arrange.mirror(d, ids, { axis: "y", at: 150 }).document,
  align: (d, ids) => arrange.align(d, ids, "rear", extents(d, ids)),
  space: (d, ids) => arrange.space(d, ids, "x", extents(d, ids)),
  row: (d, ids) => arrange.row(d, ids, 3, 20.32, 1).document,
  grid: (d, ids) => gridOf(d, ids, 2, 2, 15, 15).document,
  ring: (d, ids) => ringOf(d, ids, 3, [200, 150], 360).document,
  group: (d, ids) => group(d, ids, "together").document,
  ungroup: (d, ids) => ungroup(d, ids),
  delete: (d, ids) => remove(d, ids.filter((id) => !find(d, id)?.item.locked)),
  lock: (d, ids) => lock(d, ids, true),
  unlock: (d, ids) => lock(d, ids, false),
  "cut loose": each((d, id, { item }) => (item.cable ? setValue(d, id, ["cable", "in_step"], false) : change(d, id, (now) => put(now, ["follows"], undefined)))),
  "corner of a course": each((d, id, { kind, item }) => {
    if (kind === "channel") return removePoint(movePoint(insertPoint(d, id, item.start ? 0 : 1, [150, 60]), id, item.start ? 0 : 1, [155, 61]), id, item.start ? 1 : 2);
    if (isLed(item)) return moveSlotCorner(withSlotCorner(d, id)?.document ?? insertSlotCorner(d, id, 0, [240, 170]), id, 0, [241, 171]);
    return tubePoints(d, id) ? moveTubePoint(insertTubePoint(d, id, 0, [90, 200, 80]), id, 0, [91, 201]) : d;
  }),
  "no corners": each((d, id, { item }) => (isLed(item) && slotCorners(item).length ? removeSlotCorner(d, id, 0) : tubePoints(d, id)?.length ? removeTubePoint(d, id, 0) : d)),
  branch: each((d, id, { kind }) => (kind === "channel" ? (branchAt(d, id, [150, 150])?.document ?? d) : d)),
  draw: (d, ids) => draw(d, [...ids.filter((id) => ["port", "branch"].includes(find(d, id)?.kind ?? "")).slice(0, 1), [180, 180], [190, 100]])?.document ?? d,
  connect: (d, ids) => (whyNotJoined(d, ids) ? d : join(d, ids)),
  "lose a device port": each((d, id, { kind, item }) => (kind === "device" ? withPorts(d, id, (item.ports ?? []).slice(1)) : d)),
  "let go": each((d, id, { item }) => (item.held_by ? setValue(setValue(d, id, ["held_by"], undefined), id, ["slot"], undefined) : d)),
};

/** What must hold of every document, whatever was done; words when it does not. */
export function fault(before, after) {
  const ids = everyItem(after).map(({ item }) => item.id);
  if (new Set(ids).size < ids.length) return "an id is given twice";
  const retired = new Set(after.retired_ids ?? []);
  const back = ids.find((id) => retired.has(id));
  if (back) return `${back} is in use and retired`;
  const gone = everyItem(before).map(({ item }) => item.id).filter((id) => !ids.includes(id));
  const forgotten = after.floor === before.floor || ids.length >= 5 ? gone.find((id) => !retired.has(id)) : null;
  return forgotten ? `${forgotten} is gone and could be given again` : "";
}

/** What locked items are in a document, as text. */
const lockedOf = (d) => JSON.stringify(everyItem(d).filter(({ kind, item }) => item.locked && kind !== "group").map(({ item }) => ({ ...item, serves: null, tube: null, follows: null, cable: null, held_by: null, slot: null })));
/** What changes locked items on purpose, or leaves the plate. */
const FREE = new Set(["lock", "unlock", "cut loose", "paste elsewhere", "lose a device port", "corner of a course", "no corners", "delete", "branch", "let go", "pull a side", "pull a corner", "add a corner", "take a corner", "round a corner", "arch an edge"]);

/** One gesture, with what is wrong about it. @returns {{document: any, wrong: string}} */
function done(name, document, ids) {
  try {
    const next = frozen(GESTURES[name](document, ids));
    if (typeof whyItStays(next, ids) !== "string") return { document: next, wrong: "no words" };
    const wrong = name === "paste elsewhere" ? "" : fault(document, next);
    const kept = FREE.has(name) || lockedOf(document) === lockedOf(next);
    return { document: next, wrong: wrong || (kept ? "" : "what is locked was changed") };
  } catch (error) {
    return { document, wrong: `${error.message} ${String(error.stack).split("\n")[1] ?? ""}` };
  }
}

/** Every kind against every gesture, one at a time. @returns {{words: string, document: any, wrong: string}[]} */
export function singles() {
  const start = everything();
  return everyItem(start).flatMap(({ item }) => Object.keys(GESTURES).map((name) => ({ words: `${name} ${item.id}`, ...done(name, start, [item.id]) })));
}

/** Gestures one after the other on items at random; the same for the same seed. @param {number} seed @param {number} count @param {number} [long] */
export function sequences(seed, count, long = 5) {
  const next = random(seed);
  const among = (list) => list[Math.floor(next() * list.length)];
  const found = [];
  for (let n = 0; n < count; n += 1) {
    let document = everything();
    const words = [];
    for (let k = 0; k < long; k += 1) {
      const items = everyItem(document);
      if (!items.length) break;
      const ids = [...new Set(Array.from({ length: 1 + Math.floor(next() * 4) }, () => among(items).item.id))];
      const name = among(Object.keys(GESTURES));
      words.push(`${name} ${ids.join("+")}`);
      const step = done(name, document, ids);
      document = step.document;
      if (step.wrong) {
        found.push({ words: words.join(", "), document, wrong: step.wrong });
        break;
      }
      if (everyItem(document).length > 120) break;
    }
    found.push({ words: words.join(", "), document, wrong: "" });
  }
  return found;
}
