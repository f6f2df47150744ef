/** The card of a device: footprint and ports, flow and pressure, heat, and where the figures come from. */

import { h } from "../dom.js";
import { conductance, parabola, remarks } from "../model/curve.js";
import { UNITS, format } from "../model/quantity.js";
import { curvePlot } from "./curveplot.js";
import { folded } from "./folded.js";
import { button, field } from "./form.js";
import { heldPart, record, table } from "./record.js";

/**
 * @typedef {import("./record.js").Host} Host
 * @typedef {import("../types.js").Kinds["device"]} Device
 * @typedef {import("../types.js").Point} Point
 * @typedef {Pick<import("./itempanel.js").Parts, "memory"|"again">} Parts
 */

/** Units that data sheets use; the first is the document's own. */
const FLOWS = ["l/min", "l/h", "gpm", "m³/h"];
const PRESSURES = ["kPa", "mbar", "bar", "mH2O", "psi"];

/** @param {Parts} parts @param {Host} host */
export function deviceCard(parts, host) {
  const { cards } = parts.memory;
  cards.units ??= { flow: FLOWS[0], pressure: PRESSURES[0] };
  const device = /** @type {Device} */ (host.whole);
  const again = () => parts.again();
  return [
    folded(cards, "Kind, footprint and ports", () => body(host), again, true),
    folded(cards, "Flow and pressure", () => curve(host, device, cards, again), again),
    folded(cards, "Heat and coolant", () => heat(host, device, cards), again),
    h(
      "div.fields",
      {},
      record(host, "Device", [], { only: ["source", "invented"] }),
    ),
  ];
}

/** @param {Host} host */
const body = (host) => [
  record(host, "Device", [], { only: ["kind", "metal", "check_valve", "hollow"] }),
  heldPart(host, "Device", "outline", []),
  heldPart(host, "Device", "ports", []),
  heldPart(host, "Device", "holes", []),
  h(
    "p.quiet",
    {},
    "The device's own axes: lying, u runs to the right, v to the rear, w up; on edge, v runs up and w to the front.",
  ),
];

/** Flow and pressure points. @param {Host} host @param {Device} device @param {import("../types.js").Memory} cards @param {() => void} again */
function curve(host, device, cards, again) {
  const { flow, pressure } = cards.units;
  const pump = device.kind === "pump";
  const words = { pump, x: `flow, ${flow}`, y: pressure, title: pump ? "Pressure given" : "Pressure lost" };
  const shown = (/** @type {Record<string, unknown>[]} */ rows) =>
    rows.map(
      (row) =>
        /** @type {Point} */ ([
          Number(row.flow_l_min) / factor("flow", flow),
          Number(row.pressure_kpa) / factor("pressure", pressure),
        ]),
    );
  const rows = (device.curve ?? []).map((point) => ({ ...point }));
  const plot = h("div");
  const said = h("div", { role: "status" });
  const draw = (/** @type {Record<string, unknown>[]} */ now) => {
    const points = shown(now);
    plot.replaceChildren(curvePlot(points, words));
    said.replaceChildren(...remarks(points, pump, flow).map((one) => h("p.quiet", {}, one)));
  };
  draw(rows);
  return [
    h(
      "div.fields",
      {},
      unitChoice(host, "Flow in", FLOWS, flow, (unit) => ((cards.units = { ...cards.units, flow: unit }), again())),
      unitChoice(host, "Pressure in", PRESSURES, pressure, (unit) => ((cards.units = { ...cards.units, pressure: unit }), again())),
    ),
    table({ ...host, units: cards.units }, "CurvePoint", ["curve"], {
      title: "Points",
      help: pump ? "Pressure it gives at full speed. Its two ends, most pressure and most flow, are enough for a parabola." : "Pressure it loses. Two or three points make a curve; one makes a square law.",
      rows,
      typed: draw,
    }),
    plot,
    said,
    pump ? fromTwo(host, cards) : null,
    record(host, "Device", [], { only: ["flow_min_l_min"] }),
  ];
}

/** @param {"flow"|"pressure"} kind @param {string} unit */
const factor = (kind, unit) => /** @type {Record<string, number>} */ (UNITS[kind])[unit.toLowerCase()] ?? 1;

/** @param {Host} host @param {string} label @param {string[]} units @param {string} value @param {(unit: string) => void} change */
const unitChoice = (host, label, units, value, change) =>
  field({ label, type: "choice", options: units.map((unit) => [unit, unit]), help: "What is shown and typed here; the file keeps l/min and kPa." }, value, {
    unit: host.unit,
    keep: `${host.keep}-${label}`,
    change: (next) => change(String(next)),
  });

/**
 * A few numbers that are typed to work something out of, kept in the card's memory.
 * @param {Host} host @param {import("../types.js").Memory} memory @param {[string, Omit<import("./fields.js").Field, "path">][]} specs
 */
const typed = (host, memory, specs) =>
  h(
    "div.fields",
    {},
    specs.map(([key, spec]) =>
      field(spec, memory[key] ?? null, {
        unit: host.unit,
        keep: `${host.keep}-typed-${key}`,
        change: (next) => {
          memory[key] = next;
        },
      }),
    ),
  );

/** A pump's parabola from the two figures that most data sheets give. @param {Host} host @param {import("../types.js").Memory} cards */
function fromTwo(host, cards) {
  const memory = (cards[`two ${host.id}`] ??= {});
  const problem = h("p.problem", { role: "status", hidden: true });
  const { flow, pressure } = cards.units;
  const make = () => {
    const [head, most] = [Number(memory.head), Number(memory.flow)];
    problem.hidden = head > 0 && most > 0;
    problem.textContent = "Type both figures, each above 0.";
    if (!problem.hidden) return;
    const points = parabola(head, most).map(([q, p]) => ({ flow_l_min: micro(q), pressure_kpa: micro(p) }));
    const said = `Parabola from two figures, ${format(head, "mm", 2)} kPa at no flow and ${format(most, "mm", 2)} l/min at no pressure: its shape is assumed.`;
    host.change([], { .../** @type {object} */ (host.whole), curve: points, source: said }, "curve from two figures");
  };
  return h(
    "section.sub",
    { role: "group", "aria-label": "From two figures" },
    h("h4", {}, "From two figures"),
    h("p.quiet", {}, "A parabola is laid through the two ends. Its shape is an assumption, and the source will say so."),
    typed(host, memory, [
      ["head", { label: "Maximum head", type: "pressure", above: 0, optional: true, unit: pressure, help: "Pressure at no flow." }],
      ["flow", { label: "Maximum flow", type: "flow", above: 0, optional: true, unit: flow, help: "Flow with nothing in its way." }],
    ]),
    button("Make the curve", make, { "data-keep": `${host.keep}-two` }),
    problem,
  );
}

/** To the millionth: a quotient leaves noise behind. @param {number} value */
const micro = (value) => Math.round(value * 1e6) / 1e6;

/** Heat, volume, fans and what a radiator gives off. @param {Host} host @param {Device} device @param {import("../types.js").Memory} cards */
function heat(host, device, cards) {
  const keys = ["volume_ml", "mass_g", "has_reservoir", ...(["radiator", "fan"].includes(device.kind) ? ["fans", "fan_size_mm", "air_c"] : [])];
  return [
    record(host, "Device", [], { only: keys }),
    device.kind === "radiator"
      ? [
          table({ ...host, units: cards.units }, "ConductancePoint", ["conductance"], {
            title: "Heat given off",
            help: "Per kelvin between the coolant going in and the air.",
            rows: (device.conductance ?? []).map((point) => ({ ...point })),
          }),
          fromTest(host, device, cards),
        ]
      : null,
  ];
}

/** W/K from the heat, the flow and the temperatures of a test. @param {Host} host @param {Device} device @param {import("../types.js").Memory} cards */
function fromTest(host, device, cards) {
  const memory = (cards[`test ${host.id}`] ??= {});
  const problem = h("p.problem", { role: "status", hidden: true });
  const make = () => {
    const found = conductance(Number(memory.heat), Number(memory.coolant), Number(memory.air ?? 25));
    const fine = found !== null && Number(memory.flow) > 0;
    problem.hidden = fine;
    problem.textContent = "Type heat, flow and both temperatures; the coolant is warmer than the air.";
    if (!fine) return;
    const row = { flow_l_min: Number(memory.flow), conductance_w_k: micro(found) };
    host.change(["conductance"], [...(device.conductance ?? []), row], "heat given off");
  };
  return h(
    "section.sub",
    { role: "group", "aria-label": "From a test" },
    h("h4", {}, "From a test"),
    typed(host, memory, [
      ["heat", { label: "Heat in the test", type: "heat", above: 0, optional: true, help: "That went into the coolant." }],
      ["flow", { label: "Flow in the test", type: "flow", above: 0, optional: true, unit: cards.units.flow, help: "Through the radiator." }],
      ["coolant", { label: "Coolant in", type: "temperature", optional: true, help: "Going into the radiator." }],
      ["air", { label: "Air in", type: "temperature", optional: true, help: "Drawn in by its fans; 25 °C when left empty." }],
    ]),
    button("Add the point", make, { "data-keep": `${host.keep}-test` }),
    problem,
  );
}
