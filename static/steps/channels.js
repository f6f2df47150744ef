/** Run channels: draw them, see what each costs, choose coolant and pump. */

import { itemsOf, valueOf } from "../model/document.js";
import { h } from "../dom.js";
import { format } from "../model/quantity.js";
import { answers } from "./flow.js";
import { tray } from "./layout.js";
import { documentField, fold, part, table } from "./parts.js";

/** @type {any[]} */
const LOOP = [
  {
    path: ["loop", "coolant", "kind"],
    label: "Coolant",
    type: "choice",
    usual: "water",
    options: [
      ["water", "Water"],
      ["ethylene-glycol", "Water and ethylene glycol"],
      ["propylene-glycol", "Water and propylene glycol"],
    ],
    help: "Ethylene glycol is poisonous to children and animals.",
  },
  {
    path: ["loop", "coolant", "strength_percent"],
    label: "Glycol in it",
    type: "percent",
    least: 0,
    most: 60,
    usual: 0,
    help: "Mass of glycol in the mixture; it is on the bottle.",
  },
  {
    path: ["loop", "room_c"],
    label: "Room",
    type: "temperature",
    least: -40,
    most: 60,
    usual: 25,
    help: "Air drawn in by the radiators.",
  },
  {
    path: ["loop", "water_limit_c"],
    label: "Warmest allowed",
    type: "temperature",
    least: 0,
    most: 90,
    usual: 50,
    help: "What plate, tubes and pump bear; see their papers.",
  },
  {
    path: ["loop", "tube_inner_diameter_mm"],
    label: "Tube inside",
    type: "length",
    above: 0,
    usual: 10,
    help: "Inner diameter of the tubes.",
  },
  {
    path: ["loop", "tube_outer_diameter_mm"],
    label: "Tube outside",
    type: "length",
    above: 0,
    usual: 13,
    help: "Outer diameter of the tubes.",
  },
  {
    path: ["loop", "fitting_bore_mm"],
    label: "Fitting's bore",
    type: "length",
    above: 0,
    usual: 9,
    help: "The narrowest way through a fitting.",
  },
  {
    path: ["loop", "fitting_straight_mm"],
    label: "Fitting and straight tube",
    type: "length",
    least: 0,
    usual: 25,
    help: "Height of a fitting and of the tube's least straight length above the plate.",
  },
  {
    path: ["loop", "test_pressure_kpa"],
    label: "Test pressure",
    type: "pressure",
    above: 0,
    most: 300,
    usual: 50,
    help: "What the plate is tried at before it is filled. With water or a hand pump, never with shop air.",
  },
  {
    path: ["loop", "pumps"],
    label: "Several pumps",
    type: "choice",
    usual: "as-connected",
    options: [
      ["as-connected", "As they are connected"],
      ["series", "In series"],
      ["parallel", "In parallel"],
    ],
    help: "How two pumps work together.",
  },
];

/** @param {import("./parts.js").Context} context */
export function channels(context) {
  const { store, actions } = context;
  const { document, look, unit, selection } = store.get();
  const flow = look?.flow;
  const byId = new Map((flow?.elements ?? []).map((/** @type {any} */ e) => [e.id, e]));
  const total = (flow?.elements ?? [])
    .filter((/** @type {any} */ e) => e.kind !== "pump")
    .reduce((/** @type {number} */ sum, /** @type {any} */ e) => sum + Math.abs(e.pressure_drop_kpa ?? 0), 0);
  const list = itemsOf(document, "channel");
  const chosen = list.find((c) => selection.length === 1 && c.id === selection[0]);
  return [
    part("Draw", tray(context, ["channel", "branch"])),
    part(
      "Channels",
      list.length
        ? table(
            "What each channel is and costs",
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
                    onclick: () => actions.pick([c.id]),
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
        : h("p.quiet", {}, "None yet. Take the channel in hand and click from port to port."),
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

/** @param {any} e @param {any} channel @param {import("./parts.js").Context} context */
function elementFacts(e, channel, { store }) {
  if (!e) return null;
  const unit = store.get().unit;
  /** @type {[string, any, string][]} */
  const rows = [
    ["Length", e.length_mm !== undefined ? format(e.length_mm, unit, 1) : null, unit],
    ["Flow", e.flow_l_min !== undefined ? format(Math.abs(e.flow_l_min), "mm", 2) : null, "l/min"],
    [
      "Hydraulic diameter",
      e.hydraulic_diameter_mm !== undefined ? format(e.hydraulic_diameter_mm, unit, 2) : null,
      unit,
    ],
    ["Reynolds number", e.reynolds !== undefined ? Math.round(Math.abs(e.reynolds)) : null, ""],
    ["Friction factor (Darcy)", e.friction_factor !== undefined ? format(e.friction_factor, "mm", 4) : null, ""],
    ["Friction", e.friction_kpa !== undefined ? format(Math.abs(e.friction_kpa), "mm", 3) : null, "kPa"],
    ["Bends, turns, ends", e.minor_kpa !== undefined ? format(Math.abs(e.minor_kpa), "mm", 3) : null, "kPa"],
  ];
  return part(
    `${channel.id} in figures`,
    h(
      "dl.facts",
      {},
      rows
        .filter(([, v]) => v !== null && v !== undefined)
        .map(([k, v, u]) => [h("dt", {}, k), h("dd", {}, `${v} ${u}`)]),
    ),
    h("p.quiet", {}, `Bend radius ${format(valueOf("channel", channel, "bend_radius_mm"), unit, 1)} ${unit}.`),
  );
}

/** @param {any} flow */
function temperatures(flow) {
  const list = flow?.temperatures ?? [];
  if (!list.length) return null;
  return fold(
    "Water temperatures",
    false,
    table(
      "Water at each device, °C",
      ["Device", "In", "Out", "W"],
      list.map((/** @type {any} */ t) => [t.id, number(t.inlet_c, 1), number(t.outlet_c, 1), number(t.heat_w, 0)]),
    ),
  );
}

/** @param {any} value @param {number} digits */
const number = (value, digits) => (typeof value === "number" ? format(value, "mm", digits) : "—");
