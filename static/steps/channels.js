/** Run channels: draw them, see what each costs, choose coolant and pump. */

import { itemsOf } from "../model/document.js";
import { h } from "../dom.js";
import { DEFAULTS, TABLES } from "../format.js";
import { among, fieldOf } from "../panels/fields.js";
import { format } from "../model/quantity.js";
import { connections } from "./connectionlist.js";
import { answers } from "./flow.js";
import { proposals } from "./proposals.js";
import { documentField, fold, part, table } from "./parts.js";

const at = ["loop"];

const LOOP = [
  fieldOf("Coolant", "kind", "Ethylene glycol is poisonous to children and animals.", { at: [...at, "coolant"] }),
  fieldOf("Coolant", "strength_percent", "Mass of glycol in the mixture; it is on the bottle.", {
    at: [...at, "coolant"],
    most: 60,
  }),
  fieldOf("Loop", "room_c", "Air drawn in by the radiators.", { at, most: 60 }),
  fieldOf("Loop", "water_limit_c", "What plate, tubes and pump withstand; see their data sheets.", {
    at,
    least: 0,
    most: 90,
  }),
  fieldOf("Loop", "tube_size", undefined, { at, ...among(TABLES.tube_sizes), optional: true }),
  fieldOf("Loop", "tube_inner_diameter_mm", "Inside of the tubes.", { at }),
  fieldOf("Loop", "tube_outer_diameter_mm", "Outside of the tubes.", { at }),
  fieldOf("Loop", "fitting_bore_mm", "The narrowest passage through a fitting.", { at }),
  fieldOf(
    "Loop",
    "fitting_straight_mm",
    "Height of a fitting and of the tube's minimum straight length above the plate.",
    {
      at,
    },
  ),
  fieldOf(
    "Loop",
    "test_pressure_kpa",
    "What the plate is tested at before it is filled. With water or a hand pump, never with shop air.",
    { at, above: 0, most: 300 },
  ),
  fieldOf("Loop", "pumps", "How two pumps work together.", { at }),
  fieldOf("Loop", "carry_shift_mm", undefined, { at }),
];

/** @param {import("./parts.js").Context} context */
export function channels(context) {
  const { store, actions } = context;
  const { document, answer, unit, selection } = store.get();
  const flow = answer?.flow;
  const byId = new Map((flow?.elements ?? []).map((e) => [e.id, e]));
  const total = (flow?.elements ?? [])
    .filter((e) => e.kind !== "pump")
    .reduce((sum, e) => sum + Math.abs(e.pressure_drop_kpa ?? 0), 0);
  const list = itemsOf(document, "channel");
  const chosen = list.find((c) => selection.length === 1 && c.id === selection[0]);
  return [
    h("p.quiet.with-tools", {}, "Draw from port to port with the channel tool beside the drawing (C), or have channels proposed."),
    connections(context),
    proposals(context),
    part(
      "Channels",
      list.length
        ? table(
            "Size and loss",
            ["Channel", "Section", "m/s", "kPa", "Share"],
            list.map((c) => {
              const e = byId.get(c.id);
              const loss = e ? Math.abs(e.pressure_drop_kpa ?? 0) : null;
              return [
                h(
                  "button.link.id",
                  {
                    type: "button",
                    "data-keep": `ch-${c.id}`,
                    "aria-pressed": String(chosen?.id === c.id),
                    onclick: () => actions.select([c.id]),
                  },
                  c.id,
                ),
                `${format(c.width_mm, unit, 1)} × ${format(c.depth_mm, unit, 1)}`,
                e?.velocity_m_s !== undefined ? format(Math.abs(e.velocity_m_s), "mm", 2) : "—",
                loss !== null ? format(loss, "mm", 2) : "—",
                loss !== null && total ? `${Math.round((loss / total) * 100)} %` : "—",
              ];
            }),
            { class: "wide" },
          )
        : h("p.quiet", {}, "None yet. Choose the channel tool and click from port to port."),
    ),
    chosen ? elementFacts(byId.get(chosen.id), chosen, context) : null,
    answers(context, chosen?.id),
    temperatures(flow),
    fold(
      "Coolant and loop",
      false,
      h(
        "div.fields",
        {},
        LOOP.map((f) => documentField(context, f)),
      ),
    ),
  ];
}

/** @param {import("../types.js").FlowElement|undefined} e @param {import("../types.js").Kinds["channel"]} channel @param {import("./parts.js").Context} context */
function elementFacts(e, channel, { store }) {
  if (!e) return null;
  const unit = store.get().unit;
  /** @type {[string, string|number|null, string][]} */
  const rows = [
    ["Length", e.length_mm !== undefined ? format(e.length_mm, unit, 1) : null, unit],
    ["Flow", e.flow_l_min !== undefined ? format(Math.abs(e.flow_l_min), "mm", 2) : null, "l/min"],
    [
      "Hydraulic diameter",
      e.hydraulic_diameter_mm !== undefined ? format(e.hydraulic_diameter_mm, unit, 2) : null,
      unit,
    ],
    ["Reynolds number", e.reynolds !== undefined ? Math.round(Math.abs(e.reynolds)) : null, ""],
    ["Friction factor (Darcy)", typeof e.friction_factor === "number" ? format(e.friction_factor, "mm", 4) : null, ""],
    ["Friction", e.friction_kpa !== undefined ? format(Math.abs(e.friction_kpa), "mm", 3) : null, "kPa"],
    ["Bends, turns, ends", e.minor_kpa !== undefined ? format(Math.abs(e.minor_kpa), "mm", 3) : null, "kPa"],
  ];
  return part(
    `${channel.id} details`,
    h(
      "dl.facts",
      {},
      rows
        .filter(([, v]) => v !== null && v !== undefined)
        .map(([k, v, u]) => [h("dt", {}, k), h("dd", {}, `${v} ${u}`)]),
    ),
    h(
      "p.quiet",
      {},
      `Bend radius ${format(channel.bend_radius_mm ?? DEFAULTS.Channel.bend_radius_mm, unit, 1)} ${unit}.`,
    ),
  );
}

/** @param {import("../types.js").FlowAnswer|null|undefined} flow */
function temperatures(flow) {
  const list = flow?.temperatures ?? [];
  if (!list.length) return null;
  return fold(
    "Coolant temperatures",
    false,
    table(
      "Coolant at each device, °C",
      ["Device", "In", "Out", "W"],
      list.map((t) => [t.id, number(t.inlet_c, 1), number(t.outlet_c, 1), number(t.heat_w, 0)]),
    ),
  );
}

/** @param {number|null|undefined} value @param {number} digits */
const number = (value, digits) => (typeof value === "number" ? format(value, "mm", digits) : "—");
