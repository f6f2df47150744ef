/**
 * The numbers and choices of every kind of item: what each is called, what it is, where to measure it. Data only.
 *
 * @typedef {import("../model/quantity.js").Kind} QuantityKind
 * @typedef {{path: (string|number)[], label: string, help: string, type: QuantityKind|"text"|"choice"|"yes"|"ids",
 *   least?: number, most?: number, above?: number, optional?: boolean, usual?: any, options?: [string, string][], rows?: number}} Field
 */

/** @param {string} key @param {string} label @param {string} help @param {Partial<Field>} [more] @returns {Field} */
const length = (key, label, help, more = {}) => ({ path: [key], label, help, type: "length", above: 0, ...more });

/** @param {string} key @param {string} label @param {string} help @param {[string, string][]} options @param {Partial<Field>} [more] @returns {Field} */
const choice = (key, label, help, options, more = {}) => ({
  path: [key],
  label,
  help,
  type: "choice",
  options,
  usual: options[0][0],
  ...more,
});

const X = {
  path: ["x_mm"],
  label: "From the left",
  type: /** @type {const} */ ("length"),
  help: "Its middle, measured from the left inner wall of the case to the right.",
};
const Y = {
  path: ["y_mm"],
  label: "From the front",
  type: /** @type {const} */ ("length"),
  help: "Its middle, measured from the front inner wall of the case to the rear.",
};

/** @type {[string, string][]} */
const FACES = [
  ["top", "Top"],
  ["bottom", "Bottom"],
];
/** @type {[string, string][]} */
const SCREWS = [
  ["M2.5", "M2.5"],
  ["M3", "M3"],
  ["M4", "M4"],
  ["M5", "M5"],
  ["M6", "M6"],
];
/** @type {[string, string][]} */
export const THREADS = [
  ["G1/8", "G1/8"],
  ["G1/4", "G1/4"],
  ["G3/8", "G3/8"],
];

/** @type {Record<string, Field[]>} */
const OUTLINES = {
  circle: [length("diameter_mm", "Diameter", "Across the hole, at its widest.")],
  slot: [
    length("length_mm", "Length over all", "From round end to round end."),
    length("width_mm", "Width", "Across the slot; its ends have half of it as radius."),
    {
      path: ["turn_deg"],
      label: "Turned",
      help: "Counter-clockwise; 0 lies from left to right.",
      type: "angle",
      usual: 0,
    },
  ],
  rectangle: [
    length("width_mm", "Width", "From left to right, before it is turned."),
    length("depth_mm", "Depth", "From front to rear, before it is turned."),
    length(
      "corner_radius_mm",
      "Corner radius",
      "A round cutter leaves at least its own radius in every inside corner.",
      { above: undefined, least: 0, usual: 0 },
    ),
    { path: ["turn_deg"], label: "Turned", help: "Counter-clockwise.", type: "angle", usual: 0 },
  ],
  polygon: [],
};

/** Fields of an outline, under its own key. @param {any} outline @returns {Field[]} */
export function outlineFields(outline) {
  const own = OUTLINES[outline?.shape] ?? [];
  const middle = outline?.shape === "polygon" ? [] : [X, Y];
  return [...middle, ...own].map((field) => ({ ...field, path: ["outline", ...field.path] }));
}

/** @type {Field[]} */
const POSE = [
  {
    ...X,
    help: "The item's own corner or middle, from the left inner wall; in its holder's measure when something holds it.",
  },
  { ...Y, help: "The same from the front inner wall." },
  {
    path: ["z_mm"],
    label: "Above the floor",
    type: "length",
    help: "Its underside, or its own corner, above the case floor.",
    usual: 0,
  },
  choice("posture", "Stands or lies", "Lying: parallel to the floor. Standing: on edge.", [
    ["lying", "Lying"],
    ["standing", "Standing"],
  ]),
  { path: ["turn_deg"], label: "Turned", type: "angle", help: "About the vertical, counter-clockwise.", usual: 0 },
  { path: ["roll_deg"], label: "Rolled", type: "angle", help: "In its own plane, before it is set up.", usual: 0 },
];

/** @type {Record<string, Field[]>} */
const FIELDS = {
  port: [
    X,
    Y,
    choice("face", "Opens to", "The side of the plate that the fitting goes into.", [...FACES, ["edge", "An edge"]]),
    choice(
      "thread",
      "Thread",
      "Of the fitting. A marker is only a place, not yet a hole.",
      [...THREADS, ["", "None: a marker"]],
      { usual: "G1/4" },
    ),
    length(
      "thread_depth_mm",
      "Thread depth",
      "Full thread, from the face. Measure the fitting's thread and add a turn.",
      { usual: 10 },
    ),
    length(
      "fitting_diameter_mm",
      "Fitting diameter",
      "The widest the fitting gets, or what the spanner needs around it.",
      { usual: 20 },
    ),
    length("bore_diameter_mm", "Bore", "The way on from the thread to the channel. Empty: the tap drill.", {
      optional: true,
    }),
    length("bore_depth_mm", "Bore depth", "From the face to the bore's end. Empty: down to its channel.", {
      optional: true,
    }),
    {
      path: ["heading_deg"],
      label: "Heading",
      type: "angle",
      optional: true,
      help: "Which way an edge port runs into the plate. Empty: square to the edge.",
    },
    length("level_mm", "Axis above the underside", "Height of an edge port's middle. Empty: half way up the body.", {
      optional: true,
    }),
    choice("use", "Used for", "A service port is closed by a plug while the computer runs.", [
      ["loop", "The loop"],
      ["fill", "Filling"],
      ["drain", "Draining"],
      ["bleed", "Bleeding air"],
      ["sensor", "A sensor"],
      ["plugged", "Plugged"],
    ]),
    {
      path: ["serves"],
      label: "Serves",
      type: "choice",
      optional: true,
      help: "The device port whose tube comes down here. A finding says when the two are out of line.",
    },
  ],
  branch: [X, Y],
  channel: [
    length("width_mm", "Width", "Across the milled way: at least the diameter of the cutter."),
    length("depth_mm", "Depth", "Milled from the lid's side. What is left under it is checked."),
    length("bend_radius_mm", "Bend radius", "Of the middle line in every corner; each corner can have its own.", {
      above: undefined,
      least: 0,
      usual: 10,
    }),
    {
      path: ["start"],
      label: "Begins at",
      type: "choice",
      optional: true,
      help: "A port or a branch; none: at its first point.",
    },
    {
      path: ["end"],
      label: "Ends at",
      type: "choice",
      optional: true,
      help: "A port or a branch; none: at its last point.",
    },
  ],
  cutout: [],
  pocket: [
    length("depth_mm", "Depth", "From the face it is open to."),
    choice("face", "Open to", "The side it is milled from.", FACES),
    {
      path: ["must_stay_dry"],
      label: "Must stay dry",
      type: "yes",
      usual: true,
      help: "A light strip or a plug stands in it.",
    },
  ],
  hole: [
    X,
    Y,
    choice("kind", "Kind", "What the screw finds there.", [
      ["through", "Through"],
      ["tapped", "Tapped"],
      ["countersunk", "Countersunk"],
      ["counterbored", "Counterbored"],
    ]),
    choice("screw", "Screw", "Metric coarse; the hole follows from it.", SCREWS, { usual: "M4" }),
    choice("use", "Holds", "Lid screws press the cord; mounting screws hold the plate to the floor.", [
      ["mount", "The plate to the floor"],
      ["lid", "The lid"],
      ["other", "Something else"],
    ]),
    choice("face", "Goes in from", "The side of the screw's head.", FACES),
    length("diameter_mm", "Diameter", "Empty: the clearance hole of ISO 273, or the tap drill.", { optional: true }),
    length("depth_mm", "Depth", "Of a tapped hole. Empty: all the way through.", { optional: true }),
    length(
      "slot_length_mm",
      "Slot length",
      "Over all, when the hole is a slot that lets the plate move. Empty: round.",
      { optional: true },
    ),
    { path: ["turn_deg"], label: "Slot turned", type: "angle", help: "Counter-clockwise.", usual: 0 },
  ],
  "keep-out": [],
  obstacle: [
    length("height_mm", "Top above the floor", "Measure with the caliper's depth rod, from its top down to the floor."),
    length("bottom_mm", "Underside above the floor", "0 when it stands on the floor.", {
      above: undefined,
      least: 0,
      usual: 0,
    }),
  ],
  opening: [],
  board: [
    ...POSE,
    {
      path: ["pattern"],
      label: "Published pattern",
      type: "choice",
      optional: true,
      help: "Holes and slots of a published board size. None: your own holes.",
      options: [
        ["ATX", "ATX"],
        ["microATX", "microATX"],
        ["Mini-ITX", "Mini-ITX"],
      ],
    },
    length("width_mm", "Along its rear edge", "Empty: the pattern's.", { optional: true }),
    length("depth_mm", "Away from its rear edge", "Empty: the pattern's.", { optional: true }),
    length("parts_height_mm", "Parts stand out", "How far the tallest part stands out of the component side.", {
      above: undefined,
      least: 0,
      usual: 40,
    }),
    {
      path: ["slots"],
      label: "Slots",
      type: "number",
      least: 0,
      most: 12,
      usual: 0,
      help: "How many card slots it has.",
    },
    {
      path: ["held_by"],
      label: "Held by",
      type: "choice",
      optional: true,
      help: "The board or riser it stands in; it moves along with it.",
    },
    {
      path: ["slot"],
      label: "In slot",
      type: "number",
      least: 1,
      most: 12,
      optional: true,
      help: "Counted from the connector side.",
    },
  ],
  device: [
    ...POSE,
    length("height_mm", "Height", "Of its body.", { above: undefined, least: 0, usual: 0 }),
    {
      path: ["heat_w"],
      label: "Heat into the water",
      type: "heat",
      least: 0,
      usual: 0,
      help: "At full load. 0 for what gives none.",
    },
    {
      path: ["speed_percent"],
      label: "Pump speed",
      type: "percent",
      least: 1,
      most: 150,
      usual: 100,
      help: "Of its full speed.",
    },
    {
      path: ["held_by"],
      label: "Held by",
      type: "choice",
      optional: true,
      help: "The board or card it sits on; it moves along with it.",
    },
  ],
  group: [
    {
      path: ["members"],
      label: "Members",
      type: "ids",
      help: "Ids of the items that move together, with commas between.",
    },
  ],
};

/** @type {Record<string, string[]>} Fields that only matter for some choices: shown when the test says so. */
const ONLY = {
  heading_deg: ["face", "edge"],
  level_mm: ["face", "edge"],
  slot_length_mm: ["kind", "through"],
};

/** The fields of an item's card, in order. @param {string} kind @param {any} item @returns {Field[]} */
export function fieldsOf(kind, item) {
  const own = FIELDS[kind] ?? [];
  const shown = own.filter(({ path }) => {
    const only = ONLY[String(path[0])];
    if (only) return (item[only[0]] ?? (only[0] === "kind" ? "through" : "top")) === only[1];
    if (path[0] === "speed_percent") return item.kind === "pump";
    if (path[0] === "turn_deg" && kind === "hole") return Boolean(item.slot_length_mm);
    return true;
  });
  return [...(item.outline && kind !== "device" ? outlineFields(item.outline) : []), ...shown];
}

/** Name, note and lock, which every item has. @type {Field[]} */
export const COMMON = [
  {
    path: ["name"],
    label: "Name",
    type: "text",
    help: "What people call it. It is printed beside its id.",
    usual: "",
    most: 120,
  },
  {
    path: ["note"],
    label: "Note",
    type: "text",
    help: "Anything worth keeping about it.",
    usual: "",
    most: 4000,
    rows: 2,
  },
];

/** The plate itself. @type {Field[]} */
export const PLATE_FIELDS = [
  {
    path: ["plate", "body_thickness_mm"],
    label: "Body thickness",
    type: "length",
    above: 0,
    help: "Of the sheet the channels are milled into.",
  },
  {
    path: ["plate", "lid_thickness_mm"],
    label: "Lid thickness",
    type: "length",
    above: 0,
    help: "Of the sheet that closes the channels.",
  },
  {
    path: ["plate", "lid_face"],
    label: "Lid on the",
    type: "choice",
    usual: "bottom",
    options: [
      ["bottom", "Bottom"],
      ["top", "Top"],
    ],
    help: "The side of the body that the lid closes; channels are milled from there.",
  },
  {
    path: ["plate", "z_mm"],
    label: "Underside above the floor",
    type: "length",
    least: 0,
    usual: 0,
    help: "Height of its feet or spacers.",
  },
];

/** The square grid. @type {Field[]} */
export const GRID_FIELDS = [
  {
    path: ["grid", "pitch_mm"],
    label: "Square grid",
    type: "length",
    above: 0,
    usual: 5,
    help: "Pitch of the grid to snap to. “0.8 in” gives 20.32 mm exactly.",
  },
];
