/**
 * The fields of every kind of item: which are shown, and what to know of each. What a key is called, its choices, its
 * bounds and its default come from the format. Data only.
 *
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Kind} Kind
 * @typedef {import("../types.js").Outline} Outline
 * @typedef {import("../types.js").Path} Path
 * @typedef {import("../format_types.js").FieldFormat} FieldFormat
 * @typedef {Omit<FieldFormat, "help"> & {path: Path, help: string, usual?: unknown, rows?: number, always?: boolean, unit?: string, hint?: string}} Field
 *   `unit`: shown and typed in, where it is not the kind's own; `usual`: the default of the format; `always`: written even when it equals the default; `hint`: seen while it is empty.
 * @typedef {keyof typeof FIELDS} Model
 */

import { DEFAULTS, FIELDS, TABLES } from "../format.js";

/**
 * A field of a model as the format has it.
 * @template {Model} M
 * @param {M} model @param {keyof typeof FIELDS[M] & string} key @param {string} [help] what the page says of it; the format's own words when left out
 * @param {Partial<Field> & {at?: Path}} [more] at: the path to the model, from where the field is written
 * @returns {Field}
 */
export function fieldOf(model, key, help, { at = [], ...more } = {}) {
  const format = /** @type {FieldFormat} */ (FIELDS[model][key]);
  const usual = /** @type {Record<string, unknown>} */ (DEFAULTS[model])[key];
  return {
    ...format,
    path: [...at, key],
    help: help ?? format.help ?? "",
    ...(usual === undefined ? {} : { usual }),
    ...more,
  };
}

/** A choice among names that the format leaves open. @param {string[]} names @returns {Pick<Field, "type"|"options">} */
export const among = (names) => ({ type: "choice", options: names.map((name) => [name, name]) });

const MIDDLE_X = "Its centre, measured from the left inner wall of the case to the right.";
const MIDDLE_Y = "Its centre, measured from the front inner wall of the case to the rear.";

/** @param {"Port"|"Branch"|"Hole"|"Circle"|"Slot"|"Rectangle"} model @param {Path} [at] @returns {Field[]} */
const middle = (model, at) => [fieldOf(model, "x_mm", MIDDLE_X, { at }), fieldOf(model, "y_mm", MIDDLE_Y, { at })];

/** Fields of an outline, under its own key. @param {Outline|null|undefined} outline @returns {Field[]} */
export function outlineFields(outline) {
  const at = ["outline"];
  switch (outline?.shape) {
    case "circle":
      return [...middle("Circle", at), fieldOf("Circle", "diameter_mm", "Across the hole, at its widest.", { at })];
    case "slot":
      return [
        ...middle("Slot", at),
        fieldOf("Slot", "length_mm", "From round end to round end.", { at }),
        fieldOf("Slot", "width_mm", "Across the slot; its ends have half of it as radius.", { at }),
        fieldOf("Slot", "turn_deg", "Counter-clockwise; 0 lies from left to right.", { at }),
      ];
    case "rectangle":
      return [
        ...middle("Rectangle", at),
        fieldOf("Rectangle", "width_mm", "From left to right, before it is turned.", { at }),
        fieldOf("Rectangle", "depth_mm", "From front to rear, before it is turned.", { at }),
        fieldOf(
          "Rectangle",
          "corner_radius_mm",
          "A round cutter leaves at least its own radius in every inside corner.",
          { at },
        ),
        fieldOf("Rectangle", "turn_deg", "Counter-clockwise.", { at }),
      ];
    default:
      return [];
  }
}

/** @param {"Board"|"Device"} model @returns {Field[]} */
const pose = (model) => [
  fieldOf(
    model,
    "x_mm",
    "The item's own corner or middle, from the left inner wall; in its holder's measure when something holds it.",
  ),
  fieldOf(model, "y_mm", "The same from the front inner wall."),
  fieldOf(model, "z_mm", "Its underside, or its own corner, above the case floor."),
  fieldOf(model, "posture", "Flat: parallel to the floor. On edge: upright."),
  fieldOf(model, "turn_deg", "About the vertical, counter-clockwise."),
  fieldOf(model, "roll_deg", "In its own plane, before it is set up."),
];

/** @type {Record<Kind, Field[]>} */
const OF_KIND = {
  port: [
    ...middle("Port"),
    fieldOf("Port", "face", "The side of the plate that the fitting goes into."),
    fieldOf("Port", "thread", "Of the fitting. A marker is only a place, not yet a hole.", {
      ...among(TABLES.threads),
      options: [...TABLES.threads.map((name) => [name, name]), ["", "None: a marker"]],
      optional: false,
    }),
    fieldOf("Port", "thread_depth_mm", "Full thread, from the face. Measure the fitting's thread and add a turn."),
    fieldOf("Port", "fitting_diameter_mm", "The widest the fitting gets, or what the spanner needs around it."),
    fieldOf("Port", "bore_diameter_mm", "From the thread on to the channel. Empty: the tap drill."),
    fieldOf("Port", "bore_depth_mm", "From the face to the bore's end. Empty: down to its channel."),
    fieldOf("Port", "heading_deg", "Which way an edge port runs into the plate. Empty: square to the edge."),
    fieldOf("Port", "level_mm", "Height of an edge port's middle. Empty: half way up the body."),
    fieldOf("Port", "use", "A service port is closed by a plug while the computer runs."),
    fieldOf(
      "Port",
      "serves",
      "The device port whose tube comes down here. A finding says when the two are out of line.",
      {
        type: "choice",
      },
    ),
  ],
  branch: middle("Branch"),
  channel: [
    fieldOf("Channel", "width_mm", "Across the milled channel: at least the diameter of the cutter."),
    fieldOf("Channel", "depth_mm", "Milled from the lid's side. What is left under it is checked."),
    fieldOf("Channel", "bend_radius_mm", "Of the centreline in every corner; each corner can have its own."),
    fieldOf("Channel", "start", "A port or a branch; none: at its first point.", { type: "choice" }),
    fieldOf("Channel", "end", "A port or a branch; none: at its last point.", { type: "choice" }),
  ],
  cutout: [],
  pocket: [
    fieldOf("Pocket", "depth_mm", "From the face it is open to.", { label: "Milled depth" }),
    fieldOf("Pocket", "face", "The side it is milled from."),
    fieldOf("Pocket", "must_stay_dry", "A light strip or a plug stands in it."),
  ],
  hole: [
    ...middle("Hole"),
    fieldOf("Hole", "kind", "What the screw finds there."),
    fieldOf("Hole", "screw", "Metric coarse; the hole follows from it.", among(TABLES.screws)),
    fieldOf("Hole", "use", "Lid screws press the cord; mounting screws hold the plate to the floor."),
    fieldOf("Hole", "face", "The side of the screw's head."),
    fieldOf("Hole", "diameter_mm", "Empty: the clearance hole of ISO 273, or the tap drill."),
    fieldOf("Hole", "depth_mm", "Of a tapped hole. Empty: all the way through."),
    fieldOf("Hole", "slot_length_mm", "Over all, when the hole is a slot that lets the plate move. Empty: round."),
    fieldOf("Hole", "turn_deg", "Counter-clockwise."),
  ],
  "keep-out": [],
  obstacle: [
    fieldOf("Obstacle", "height_mm", "Measure with the caliper's depth rod, from its top down to the floor."),
    fieldOf("Obstacle", "bottom_mm", "0 when it stands on the floor."),
  ],
  opening: [],
  board: [
    ...pose("Board"),
    fieldOf(
      "Board",
      "pattern",
      "Holes and slots of a published board size. None: your own holes.",
      among(TABLES.patterns),
    ),
    fieldOf("Board", "width_mm", "Along its rear edge. Empty: the pattern's."),
    fieldOf("Board", "depth_mm", "Away from its rear edge. Empty: the pattern's."),
    fieldOf("Board", "parts_height_mm", "How far the tallest part stands out of the component side."),
    fieldOf("Board", "slots", "How many card slots it has."),
    fieldOf("Board", "held_by", "The board or riser it stands in; it moves along with it.", { type: "choice" }),
    fieldOf("Board", "slot", "Counted from the connector side."),
  ],
  device: [
    ...pose("Device"),
    fieldOf("Device", "height_mm", "Of its body."),
    fieldOf("Device", "heat_w", "At full load. 0 for what gives none."),
    fieldOf("Device", "speed_percent", "Of its full speed."),
    fieldOf("Device", "held_by", "The board or card it sits on; it moves along with it.", { type: "choice" }),
  ],
  tube: [
    fieldOf("Tube", "start", "The device port it comes from.", { type: "choice" }),
    fieldOf("Tube", "end", "The device port it goes to.", { type: "choice" }),
    fieldOf("Tube", "size"),
    fieldOf("Tube", "length_mm"),
  ],
  dimension: [
    fieldOf("Dimension", "direction", "Along the shortest way between the two, or along x or y alone."),
    fieldOf("Dimension", "offset_mm", "How far the line stands off what it measures; below 0 on the other side."),
  ],
  group: [fieldOf("Group", "members", "Ids of the items that move together, with commas between.")],
};

/** Whether a field matters for an item as it is; those not named always do. @type {Record<string, (item: Item) => boolean>} */
const MATTERS = {
  heading_deg: (item) => item.face === "edge",
  level_mm: (item) => item.face === "edge",
  slot_length_mm: (item) => (item.kind ?? DEFAULTS.Hole.kind) === "through",
  speed_percent: (item) => item.kind === "pump",
};

/** The fields of an item in its panel, in order. @param {Kind} kind @param {Item} item @returns {Field[]} */
export function fieldsOf(kind, item) {
  const shown = OF_KIND[kind].filter(({ path: [key] }) => {
    if (key === "turn_deg" && kind === "hole") return Boolean(item.slot_length_mm);
    return MATTERS[key]?.(item) ?? true;
  });
  const named = item.held_by ? shown.map(inHolder) : shown;
  return [...(kind === "device" ? [] : outlineFields(item.outline)), ...named];
}

/** What a place is called in the measure of what holds the item. @type {Record<string, [string, string]>} */
const IN_HOLDER = {
  x_mm: ["Along the holder, u", "On a board: along its rear edge, from the connector side. In a slot: along the slot."],
  y_mm: ["Across the holder, v", "On a board: from its rear edge. In a slot: off the holder."],
  z_mm: ["Off the holder, w", "On a board: its underside, off the component side."],
};

/** @param {Field} spec @returns {Field} */
function inHolder(spec) {
  const words = IN_HOLDER[String(spec.path[0])];
  return words ? { ...spec, label: words[0], help: words[1] } : spec;
}

/** Name and note, which every item has. @type {Field[]} */
export const COMMON = [
  fieldOf("Port", "name", "What people call it. It is printed beside its id."),
  fieldOf("Port", "note", "Anything worth keeping about it.", { rows: 2 }),
];

/** The plate itself. @type {Field[]} */
export const PLATE_FIELDS = [
  fieldOf("Plate", "body_thickness_mm", "Of the sheet the channels are milled into.", { at: ["plate"] }),
  fieldOf("Plate", "lid_thickness_mm", "Of the sheet that closes the channels.", { at: ["plate"] }),
  fieldOf("Plate", "lid_face", "The side of the body that the lid closes; channels are milled from there.", {
    at: ["plate"],
  }),
  fieldOf("Plate", "z_mm", "Height of its feet or spacers.", { at: ["plate"] }),
];

/** What the plate is made of, and how it is treated. @type {Field[]} */
export const MATERIAL_FIELDS = [
  fieldOf("Plate", "material", undefined, { at: ["plate"] }),
  fieldOf("Plate", "sheet", undefined, { at: ["plate"] }),
  fieldOf("Plate", "body_thickness_is", undefined, { at: ["plate"] }),
  fieldOf("Plate", "lid_thickness_is", undefined, { at: ["plate"] }),
  fieldOf("Plate", "annealed", undefined, { at: ["plate"] }),
];

/** The square grid. @type {Field[]} */
export const GRID_FIELDS = [
  fieldOf("Grid", "pitch_mm", "Spacing of the grid to snap to. “0.8 in” gives 20.32 mm exactly.", { at: ["grid"] }),
];
