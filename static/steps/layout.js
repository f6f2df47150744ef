/** Lay out: the plate, the ports under the tubes, and everything they keep clear of. */

import { itemsOf } from "../model/document.js";
import { h } from "../dom.js";
import { add } from "../model/edit.js";
import { GRID_FIELDS, PLATE_FIELDS } from "../panels/fields.js";
import { button } from "../panels/form.js";
import { format } from "../model/quantity.js";
import { TOOLS } from "../canvas/tools.js";
import { documentField, fold, part } from "./parts.js";

/** @type {[string, string[]][]} */
const TRAY = [
  [
    "On the plate",
    ["port", "hole", "cutout-circle", "cutout-slot", "cutout-rectangle", "cutout-polygon", "pocket", "keep-out"],
  ],
  ["On the floor", ["obstacle", "opening"]],
];

/** Tools set out to be taken in hand. @param {any} context @param {string[]} names */
export function tray({ store, actions }, names) {
  const { tool } = store.get();
  return h(
    "div.tray",
    {},
    names.map((name) => {
      const entry = TOOLS[name];
      return h(
        "button.tool",
        {
          type: "button",
          "aria-pressed": String(tool?.name === name),
          "data-keep": `tool-${name}`,
          title: entry.help,
          dataset: { tool: name },
          onclick: (/** @type {MouseEvent} */ event) => {
            actions.tool(tool?.name === name ? null : entry);
            // By keyboard the drawing is the next place to be.
            if (event.detail === 0 && tool?.name !== name) document.getElementById("stage")?.focus();
          },
        },
        h(`span.glyph.${name}`, { "aria-hidden": "true" }),
        entry.title,
        entry.letter ? h("kbd", { "aria-hidden": "true" }, entry.letter.toUpperCase()) : null,
      );
    }),
  );
}

/** @param {import("./parts.js").Context} context */
export function layout(context) {
  const { store } = context;
  return [
    ...TRAY.map(([title, names]) => part(`Set down ${title.toLowerCase()}`, tray(context, names))),
    drops(context),
    fold(
      "The plate",
      false,
      h(
        "div.fields",
        {},
        plateSize(context),
        PLATE_FIELDS.map((f) => documentField(context, f)),
      ),
    ),
    fold("Boards, cards and devices", false, hardware(context)),
    fold(
      "Snapping",
      false,
      h(
        "div.fields",
        {},
        GRID_FIELDS.map((f) => documentField(context, f)),
      ),
      h(
        "label.check",
        {},
        h("input", {
          type: "checkbox",
          checked: store.get().snapping,
          "data-keep": "snapping",
          onchange: (/** @type {any} */ e) => store.set({ snapping: e.target.checked }),
        }),
        " Snap to the grid, to items and to real hardware",
      ),
      h("p.quiet", {}, "Hold Alt while dragging to be free of it for once."),
    ),
  ];
}

/** Tubes that have no port yet: one click sets the port right under each. @param {import("./parts.js").Context} context */
function drops({ store, actions }) {
  const { document, look, unit } = store.get();
  const served = new Set(itemsOf(document, "port").map((p) => p.serves));
  const tubed = new Set((document.loop?.tubes ?? []).flatMap((/** @type {any} */ t) => [t.start, t.end]));
  const open = (look?.snaps ?? []).filter(
    (/** @type {any} */ s) => s.kind === "drop" && !served.has(s.label) && !tubed.has(s.label),
  );
  if (!open.length) return null;
  return part(
    "Tubes without a port",
    h(
      "ul.plain",
      {},
      open.map((/** @type {any} */ s) =>
        h(
          "li.line",
          {},
          h(
            "span",
            {},
            h("strong", {}, s.label),
            h("span.quiet", {}, ` ${format(s.point[0], unit, 1)}, ${format(s.point[1], unit, 1)}`),
          ),
          button(
            "Set a port under it",
            () => {
              const made = add(store.get().document, "port", { x_mm: s.point[0], y_mm: s.point[1], serves: s.label });
              actions.commit(made.document, `Add ${made.id}`, { selection: [made.id] });
            },
            { "data-keep": `drop-${s.label}` },
          ),
        ),
      ),
    ),
  );
}

/** The plate's outline by number. @param {import("./parts.js").Context} context */
function plateSize(context) {
  const { outline } = context.store.get().document.plate;
  if (outline.shape === "rectangle") {
    return [
      documentField(context, {
        path: ["plate", "outline", "width_mm"],
        label: "Width",
        type: "length",
        above: 0,
        always: true,
        help: "From its left edge to its right edge.",
      }),
      documentField(context, {
        path: ["plate", "outline", "depth_mm"],
        label: "Depth",
        type: "length",
        above: 0,
        always: true,
        help: "From its front edge to its rear edge.",
      }),
      documentField(context, {
        path: ["plate", "outline", "x_mm"],
        label: "Middle from the left",
        type: "length",
        always: true,
        help: "From the left inner wall.",
      }),
      documentField(context, {
        path: ["plate", "outline", "y_mm"],
        label: "Middle from the front",
        type: "length",
        always: true,
        help: "From the front inner wall.",
      }),
      documentField(context, {
        path: ["plate", "outline", "corner_radius_mm"],
        label: "Corner radius",
        type: "length",
        least: 0,
        usual: 0,
        help: "Of all four corners.",
      }),
    ];
  }
  if (outline.shape !== "polygon") return null;
  return h(
    "section.sub",
    { "aria-label": "Corners of the plate" },
    h("h4", {}, `Corners (${outline.vertices.length})`),
    h(
      "ol.corners",
      {},
      outline.vertices.map((/** @type {any} */ _, /** @type {number} */ i) =>
        h(
          "li",
          {},
          documentField(context, {
            path: ["plate", "outline", "vertices", i, "x_mm"],
            label: `Corner ${i + 1} from the left`,
            type: "length",
            always: true,
            help: "",
          }),
          documentField(context, {
            path: ["plate", "outline", "vertices", i, "y_mm"],
            label: `Corner ${i + 1} from the front`,
            type: "length",
            always: true,
            help: "",
          }),
        ),
      ),
    ),
  );
}

/** @type {[string, string][]} */
const DEVICES = [
  ["block", "Block"],
  ["radiator", "Radiator"],
  ["pump", "Pump"],
  ["reservoir", "Reservoir"],
  ["flow-meter", "Flow meter"],
  ["filter", "Filter"],
  ["valve", "Valve"],
  ["coupling", "Quick coupling"],
  ["fan", "Fan"],
  ["other", "Something else"],
];

/** @param {import("./parts.js").Context} context */
function hardware({ store, actions }) {
  const kind = h(
    "select",
    { id: "device-kind", "data-keep": "device-kind" },
    DEVICES.map(([value, words]) => h("option", { value }, words)),
  );
  const role = h(
    "select",
    { id: "board-role", "data-keep": "board-role" },
    [
      ["mainboard", "Board"],
      ["card", "Card"],
      ["riser", "Riser"],
    ].map(([value, words]) => h("option", { value }, words)),
  );
  const middle = store.get().look?.drawing?.box ?? [0, 0, 400, 300];
  const at = { x_mm: Math.round((middle[0] + middle[2]) / 2), y_mm: Math.round((middle[1] + middle[3]) / 2) };
  return [
    h(
      "p.quiet",
      {},
      "What stands above the plate. Pick one on the drawing or in the list to give its place, height and ports by number.",
    ),
    h(
      "div.inline",
      {},
      h("label", { for: "device-kind" }, "Device"),
      kind,
      button("Add", () => {
        const ports = ["block", "radiator", "pump", "flow-meter", "filter", "valve", "reservoir"].includes(kind.value)
          ? [
              { id: "in", u_mm: -20, flow: "in" },
              { id: "out", u_mm: 20, flow: "out" },
            ]
          : [];
        const made = add(store.get().document, "device", {
          ...at,
          z_mm: 60,
          kind: kind.value,
          outline: { shape: "rectangle", x_mm: 0, y_mm: 0, width_mm: 60, depth_mm: 60 },
          height_mm: 30,
          ports,
        });
        actions.commit(made.document, `Add ${made.id}`, { selection: [made.id] });
      }),
    ),
    h(
      "div.inline",
      {},
      h("label", { for: "board-role" }, "Board"),
      role,
      button("Add", () => {
        const values =
          role.value === "mainboard"
            ? { width_mm: 244, depth_mm: 244, z_mm: 60 }
            : role.value === "card"
              ? { width_mm: 200, depth_mm: 110, posture: "standing", z_mm: 60 }
              : { width_mm: 18, depth_mm: 86, z_mm: 40, slots: 1, first_slot_mm: 9 };
        const made = add(store.get().document, "board", { ...at, role: role.value, ...values });
        actions.commit(made.document, `Add ${made.id}`, { selection: [made.id] });
      }),
    ),
  ];
}
