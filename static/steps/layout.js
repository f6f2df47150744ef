/** Lay out: the plate, the ports under the tubes, and everything they keep clear of. */

import { itemsOf } from "../model/document.js";
import { h } from "../dom.js";
import { FIELDS } from "../format.js";
import { add } from "../model/edit.js";
import { GRID_FIELDS, MATERIAL_FIELDS, PLATE_FIELDS, fieldOf } from "../panels/fields.js";
import { button } from "../panels/form.js";
import { format } from "../model/quantity.js";
import { hardware } from "./hardware.js";
import { documentField, fold, part } from "./parts.js";
import { smallestPlate } from "./smallest.js";
import { underTubes } from "./undertubes.js";

/** @param {import("./parts.js").Context} context */
export function layout(context) {
  const { store } = context;
  const { document } = store.get();
  const bare = !document.boards?.length && !document.devices?.length;
  return [
    h("p.quiet.with-tools", {}, "Tools stand beside the drawing: choose one, then click where it belongs. Shift keeps the tool."),
    fold("Boards, cards and devices", bare, hardware(context)),
    underTubes(context),
    drops(context),
    fold(
      "The plate",
      false,
      h(
        "div.fields",
        {},
        plateSize(context),
        [...PLATE_FIELDS, ...MATERIAL_FIELDS].map((f) => documentField(context, f)),
      ),
      smallestPlate(context),
    ),
    fold(
      "Snapping",
      false,
      h(
        "div.fields",
        {},
        GRID_FIELDS.map((f) => documentField(context, f)),
      ),
      setting(store, "snapping", "Snap to the grid, to items and to real hardware"),
      setting(store, "rerouting", "Lay channels again around what is dragged"),
      h("p.quiet", {}, "Hold Alt while dragging to be free of both for once."),
    ),
  ];
}

/** A choice of how the page works, which no document holds. @param {import("./parts.js").Context["store"]} store @param {"snapping"|"rerouting"} key @param {string} words */
const setting = (store, key, words) =>
  h(
    "label.check",
    {},
    h("input", {
      type: "checkbox",
      checked: store.get()[key],
      "data-keep": key,
      onchange: (e) => store.set({ [key]: e.currentTarget.checked }),
    }),
    ` ${words}`,
  );

/** Tubes that have no port yet: one click adds the port right under each. @param {import("./parts.js").Context} context */
function drops({ store, actions }) {
  const { document, answer, unit } = store.get();
  const served = new Set(itemsOf(document, "port").map((p) => p.serves));
  const tubed = new Set((document.loop?.tubes ?? []).flatMap((t) => [t.start, t.end]));
  const open = (answer?.snaps ?? []).filter((s) => s.kind === "drop" && !served.has(s.label) && !tubed.has(s.label));
  if (!open.length) return null;
  return part(
    "Tubes without a port",
    h(
      "ul.plain",
      {},
      open.map((s) =>
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
            "Add port",
            () => {
              const made = add(store.get().document, "port", { x_mm: s.point[0], y_mm: s.point[1], serves: s.label });
              actions.commit(made.document, `Add ${made.id}`, { selection: [made.id] });
            },
            { "data-keep": `drop-${s.label}`, "aria-label": `Add a port under ${s.label}` },
          ),
        ),
      ),
    ),
  );
}

const at = ["plate", "outline"];
const RECTANGLE = [
  fieldOf("Rectangle", "width_mm", "From its left edge to its right edge.", { at, always: true }),
  fieldOf("Rectangle", "depth_mm", "From its front edge to its rear edge.", { at, always: true }),
  fieldOf("Rectangle", "x_mm", "From the left inner wall.", { at, label: "Centre from the left", always: true }),
  fieldOf("Rectangle", "y_mm", "From the front inner wall.", { at, label: "Centre from the front", always: true }),
  fieldOf("Rectangle", "corner_radius_mm", "Of all four corners.", { at }),
];

/** The plate's outline by number. @param {import("./parts.js").Context} context */
function plateSize(context) {
  const { outline } = context.store.get().document.plate;
  if (outline.shape === "rectangle") return RECTANGLE.map((spec) => documentField(context, spec));
  if (outline.shape !== "polygon") return null;
  return h(
    "section.sub",
    { role: "group", "aria-label": "Corners of the plate" },
    h("h4", {}, `Corners (${outline.vertices.length})`),
    h(
      "div",
      {},
      h("div.pair-row.pair-head", { "aria-hidden": "true" }, h("span", {}, ""), h("span", {}, "From the left"), h("span", {}, "From the front")),
      outline.vertices.map((_, i) =>
        h(
          "div.pair-row",
          {},
          h("strong", { "aria-hidden": "true" }, String(i + 1)),
          /** @type {const} */ (["x_mm", "y_mm"]).map((key) =>
            documentField(
              context,
              fieldOf("Vertex", key, "", {
                at: [...at, "vertices", i],
                label: `Corner ${i + 1} ${FIELDS.Vertex[key].label.toLowerCase()}`,
                always: true,
              }),
            ),
          ),
        ),
      ),
    ),
  );
}
