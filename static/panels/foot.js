/** The flow at the foot of the page: what runs, what it costs, how warm it gets, and what takes the most of it. */

import { find } from "../model/document.js";
import { h, refill } from "../dom.js";
import { format } from "../model/quantity.js";
import { flows } from "../model/verdict.js";

/**
 * @typedef {import("../types.js").FlowAnswer} FlowAnswer
 * @typedef {{id: string, kind: string, share: number, kpa: number}} Share
 */

/** Shares of the pressure lost, largest first. @param {FlowAnswer} flow @returns {Share[]} */
function sharesOf(flow) {
  const losses = flow.elements
    .map(({ id, kind, pressure_drop_kpa }) => ({ id, kind, kpa: Math.abs(pressure_drop_kpa ?? 0) }))
    .filter((loss) => loss.kind !== "pump" && loss.kpa > 0);
  const total = losses.reduce((sum, loss) => sum + loss.kpa, 0);
  return losses.map((loss) => ({ ...loss, share: loss.kpa / total })).sort((a, b) => b.kpa - a.kpa);
}

/** The warmest coolant anywhere in the loop, °C, or null. @param {FlowAnswer} flow */
function warmestOf(flow) {
  const found = flow.temperatures.flatMap((t) => [t.inlet_c, t.outlet_c]).filter((t) => t !== null);
  return found.length ? Math.max(...found) : null;
}

/** @typedef {{store: import("../types.js").Store, actions: import("../types.js").Actions}} Parts */

/** @param {Parts & {root: HTMLElement}} parts */
export function createFoot({ store, actions, root }) {
  let drawn = "";
  // Asked for at each answer the width would have the page laid out in the middle of a drag's move.
  let width = root.clientWidth;
  new ResizeObserver(() => {
    if (width === root.clientWidth) return;
    width = root.clientWidth;
    draw();
  }).observe(root);

  function draw() {
    const { answer, old } = store.get();
    const flow = answer?.flow;
    if (!flow?.operating_point || !flows(answer)) {
      drawn = "";
      const why = answer?.reasons?.flow ?? "It is calculated as soon as a pump's loop is closed.";
      refill(root, h("p.foot-none", {}, h("strong", {}, "No flow yet. "), why));
      return;
    }
    const figures = figuresOf(flow);
    const { large, small } = shown(sharesOf(flow), store.get().document, width - FIGURES_PX);
    const now = JSON.stringify([
      figures.map((one) => one?.textContent),
      large.map((p) => [p.id, p.label, percent(p.share), p.kpa.toFixed(2)]),
      small.map((p) => [p.id, percent(p.share)]),
      Boolean(old),
    ]);
    // What would look the same is left as it is.
    if (now === drawn) return;
    drawn = now;
    const bar = large.map((share) => segment({ store, actions }, share));
    refill(
      root,
      old && h("p.old-answer", { title: old }, "Outdated"),
      figures,
      h("div.shares", { role: "group", "aria-label": "Share of the pressure loss" }, bar, others(small)),
    );
  }

  store.watch(["answer", "old"], draw);
  return { draw };
}

/** @param {FlowAnswer} flow */
function figuresOf(flow) {
  const point = flow.operating_point;
  const warm = warmestOf(flow);
  return [
    point && figure(format(point.flow_l_min, "mm", 2), "l/min", "through the pump"),
    point && figure(format(point.pump_pressure_kpa, "mm", 1), "kPa", "from the pump"),
    warm === null ? null : figure(format(warm, "mm", 1), "°C", "warmest coolant"),
  ];
}

/** About what a letter of the bar takes, a segment's own edges, and the figures beside the bar, px. */
const LETTER_PX = 7.2;
const EDGES_PX = 12;
const FIGURES_PX = 400;

/**
 * Which losses have a segment of their own and under which label: a device what people call it, as long as the bar
 * has room for the words of all; the smaller channels give way to names, since a channel is a line of a table anyway.
 * @param {Share[]} shares largest first @param {import("../types.js").PlateDocument} document @param {number} room px
 */
function shown(shares, document, room) {
  const wide = (/** @type {string} */ label) => label.length * LETTER_PX + EDGES_PX;
  const named = shares.map((p) => ({ ...p, name: find(document, p.id)?.item.name || p.id.replace(/-drop$/, " tube") }));
  const called = (/** @type {typeof named[number]} */ p) => shortened(p.kind === "channel" ? p.id : p.name);
  const needed = (/** @type {typeof named} */ list) =>
    list.reduce((sum, p) => sum + Math.max(wide(called(p)), p.share * room * 0.6), wide("others"));
  let large = named.filter((p) => p.share >= SMALLEST_SHARE);
  while (large.length > 1 && needed(large) > room) {
    const channels = large.filter((p) => p.kind === "channel");
    const last = (channels.length ? channels : large).at(-1);
    large = large.filter((p) => p !== last);
  }
  return {
    large: large.map((p) => ({ ...p, label: called(p) })),
    small: named.filter((p) => !large.includes(p)),
  };
}

/** A name that would take the bar for itself ends in dots; the title has it whole. @param {string} name */
const shortened = (name) => (name.length > 24 ? `${name.slice(0, 23).trimEnd()}…` : name);

/** The smallest share that has a segment of its own. */
const SMALLEST_SHARE = 0.025;

/** @param {Parts} parts @param {Share & {name: string, label: string}} p */
function segment({ store, actions }, p) {
  const { name, label } = p;
  const words = `${name === p.id ? name : `${name} (${p.id})`}: ${percent(p.share)} of the loss, ${format(p.kpa, "mm", 2)} kPa`;
  return sized(
    h(
      `button.share.${p.kind === "channel" ? "wet" : "device"}`,
      {
        type: "button",
        title: words,
        "aria-label": words,
        "data-keep": `share-${p.id}`,
        onclick: () => find(store.get().document, p.id) && actions.select([p.id]),
        onmouseenter: () => store.set({ hover: p.id }),
        onmouseleave: () => store.set({ hover: null }),
      },
      h("span.share-id", {}, label),
      h("span.share-part", {}, percent(p.share)),
    ),
    p.share,
  );
}

/** Those that have no segment of their own. @param {(Share & {name: string})[]} small */
function others(small) {
  const rest = small.reduce((sum, p) => sum + p.share, 0);
  if (rest <= 0.001) return null;
  const title = small.map((p) => `${p.name} ${percent(p.share)}`).join(", ");
  return sized(
    h("span.share.rest", { title }, h("span.share-id", {}, "others"), h("span.share-part", {}, percent(rest))),
    rest,
  );
}

const percent = (/** @type {number} */ share) => `${Math.round(share * 100)} %`;

/** @param {HTMLElement} element @param {number} share */
function sized(element, share) {
  element.style.flexGrow = String(share);
  return element;
}

/** @param {string} value @param {string} unit @param {string} words */
const figure = (value, unit, words) =>
  h("p.figure", {}, h("span.big", {}, value), " ", h("span.figure-unit", {}, unit), h("span.figure-words", {}, words));
