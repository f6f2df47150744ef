/** Answers that take the server a few solutions more: loop orders, half speed, what widening gains, and plots. */

import { adopted, h } from "../dom.js";
import { format } from "../model/quantity.js";
import { fold, innerFold, part, table } from "./parts.js";

/**
 * @typedef {import("../types.js").FurtherAnswer} FurtherAnswer
 * @typedef {import("../types.js").Plot} Plot
 */

/** So many orders are shown at first. */
const FEW_ORDERS = 6;

/** How long the document rests before they are asked for, ms. */
const REST = 350;

/** @param {import("./parts.js").Context} context @param {string|undefined} channel the channel that is selected */
export function answers(context, channel) {
  const { store, local, again } = context;
  const { document } = store.get();
  const key = channel ?? "";
  if (local.answersFor !== document || local.answersChannel !== key) {
    Object.assign(local, { answersFor: document, answersChannel: key });
    clearTimeout(local.answersTimer);
    local.answersTimer = setTimeout(() => ask(context, document, key).then(again), local.answers ? REST : 0);
  }
  const found = local.answers;
  if (!found) return h("p.quiet", { role: "status" }, local.answersProblem || "Working out what else there is to say…");
  return [volume(context), plots(found.plots), widening(found.widening), halfSpeed(found), orders(found.orders)];
}

/** @param {import("./parts.js").Context} context @param {import("../types.js").PlateDocument} document @param {string} channel */
async function ask({ api, local }, document, channel) {
  try {
    const found = await api.post("/api/answers", { document, channel });
    if (local.answersFor === document && local.answersChannel === channel)
      Object.assign(local, { answers: found, answersProblem: "" });
  } catch (error) {
    local.answersProblem = /** @type {Error} */ (error).message;
  }
}

/** @param {Plot[]} list */
const plots = (list) =>
  list.length
    ? part(
        "Plots",
        list.map((plot) =>
          h("figure.plot", {}, adopted(plot.svg), h("figcaption", {}, `${plot.title}: ${plot.words} `, asFile(plot))),
        ),
      )
    : null;

/** The plot as an SVG file that stands alone. @param {Plot} plot */
const asFile = (plot) =>
  h(
    "a",
    {
      href: `data:image/svg+xml;charset=utf-8,${encodeURIComponent(plot.file)}`,
      download: `${plot.title.toLowerCase().replace(/[^a-z0-9]+/g, "-")}.svg`,
    },
    "SVG",
  );

/** What the loop holds. @param {import("./parts.js").Context} context */
const volume = ({ store }) => {
  const litres = store.get().answer?.flow?.volume_l;
  return typeof litres === "number"
    ? h("p.loop-volume", {}, `The whole loop holds ${format(litres, "mm", 2)} l of coolant.`)
    : null;
};

/** @param {FurtherAnswer["widening"]} rows */
function widening(rows) {
  if (!rows?.length) return null;
  const signed = (/** @type {number|null} */ value) => (typeof value === "number" ? `+${format(value, "mm", 2)}` : "—");
  return fold(
    "Gain from 2 mm wider or deeper",
    false,
    table(
      "In flow through the pump, l/min",
      ["Channel", "Wider", "Deeper"],
      rows.map((row) => [row.id, signed(row.wider_2mm_gains_l_min), signed(row.deeper_2mm_gains_l_min)]),
    ),
  );
}

/** @param {FurtherAnswer} found */
function halfSpeed({ half_speed: slow }) {
  if (!slow) return null;
  const inlets = Object.entries(slow.inlet_c)
    .map(([id, value]) => `${id} ${format(Number(value), "mm", 1)} °C`)
    .join(", ");
  return fold(
    "At half the pump's speed",
    false,
    h(
      "p",
      {},
      `${format(slow.flow_l_min, "mm", 2)} l/min at ${format(slow.pump_pressure_kpa, "mm", 1)} kPa; coolant into the blocks: ${inlets}.`,
    ),
  );
}

/** @param {FurtherAnswer["orders"]} list */
function orders(list) {
  if (!list || list.length < 2) return null;
  const blocks = Object.keys(list[0].difference_k ?? {});
  const cell = (/** @type {FurtherAnswer["orders"][number]} */ order, /** @type {string} */ block) => {
    const difference = order.difference_k[block];
    const against = order.present ? "" : ` (${difference > 0 ? "+" : ""}${format(difference, "mm", 2)})`;
    return `${format(order.inlet_c[block], "mm", 2)}${against}`;
  };
  const shown = (/** @type {FurtherAnswer["orders"]} */ some) =>
    table(
      "Coolant into each block by the order of the loop, °C",
      ["Order", ...blocks],
      some.map((order) => [
        h("span", {}, order.order.join(" → "), order.present && h("strong", {}, " (now)")),
        ...blocks.map((block) => cell(order, block)),
      ]),
    );
  const first = list.filter((order, i) => i < FEW_ORDERS || order.present);
  const others = list.filter((order) => !first.includes(order));
  return fold(
    "Which comes first",
    false,
    shown(first),
    others.length > 0 && innerFold(`${others.length} other orders`, false, shown(others)),
    h(
      "p.quiet",
      {},
      "With enough flow the order changes a block's coolant by a degree or two: common practice, no source.",
    ),
  );
}
