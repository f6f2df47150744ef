/** The flow at the foot of the page: what runs, what it costs, how warm it gets, and who takes the most of it. */

import { find } from "../model/document.js";
import { h, refill } from "../dom.js";
import { format } from "../model/quantity.js";

/**
 * Shares of the pressure lost, largest first. Pure.
 * @param {any} flow @returns {{id: string, kind: string, share: number, kpa: number}[]}
 */
export function shares(flow) {
  const losses = (flow?.elements ?? [])
    .map((/** @type {any} */ e) => ({
      id: String(e.id),
      kind: String(e.kind),
      kpa: Math.abs(Number(e.pressure_drop_kpa ?? 0)),
    }))
    .filter((/** @type {any} */ e) => e.kind !== "pump" && e.kpa > 0);
  const total = losses.reduce((/** @type {number} */ sum, /** @type {any} */ e) => sum + e.kpa, 0);
  return losses
    .map((/** @type {any} */ e) => ({ ...e, share: e.kpa / total }))
    .sort((/** @type {any} */ a, /** @type {any} */ b) => b.kpa - a.kpa);
}

/** The warmest water anywhere in the loop, °C, or null. @param {any} flow */
export function warmest(flow) {
  const temperatures = (flow?.temperatures ?? [])
    .flatMap((/** @type {any} */ t) => [t.inlet_c, t.outlet_c])
    .filter((/** @type {any} */ t) => typeof t === "number");
  return temperatures.length ? Math.max(...temperatures) : null;
}

/** @param {{store: any, actions: any, root: HTMLElement}} parts */
export function createFoot({ store, actions, root }) {
  let drawn = "";

  function draw() {
    const { look, document } = store.get();
    const flow = look?.flow;
    const point = flow?.operating_point;
    if (!point) {
      drawn = "";
      refill(
        root,
        h(
          "p.foot-none",
          {},
          h("strong", {}, "No flow yet. "),
          flow?.reason ?? look?.reasons?.flow ?? "It is worked out as soon as a pump's loop is closed.",
        ),
      );
      return;
    }
    const warm = warmest(flow);
    const parts = shares(flow);
    const small = parts.filter((p) => p.share < leastShare(p.id));
    const large = parts.filter((p) => p.share >= leastShare(p.id));
    const rest = small.reduce((sum, p) => sum + p.share, 0);
    const now = JSON.stringify([
      point.flow_l_min.toFixed(2),
      point.pump_pressure_kpa.toFixed(1),
      warm?.toFixed(1),
      large.map((p) => [p.id, percent(p.share), p.kpa.toFixed(2)]),
      percent(rest),
    ]);
    // What would look the same is left as it is.
    if (now === drawn) return;
    drawn = now;
    refill(
      root,
      figure(format(point.flow_l_min, "mm", 2), "l/min", "through the pump"),
      figure(format(point.pump_pressure_kpa, "mm", 1), "kPa", "from the pump"),
      warm === null ? null : figure(format(warm, "mm", 1), "°C", "warmest water"),
      h(
        "div.shares",
        { role: "group", "aria-label": "Share of the pressure loss" },
        large.map((p) => segment(p, document)),
        rest > 0.001
          ? sized(
              h(
                "span.share.rest",
                { title: small.map((p) => `${p.id} ${percent(p.share)}`).join(", ") },
                h("span.share-id", {}, "others"),
                h("span.share-part", {}, percent(rest)),
              ),
              rest,
            )
          : null,
      ),
    );
  }

  /** @param {{id: string, kind: string, share: number, kpa: number}} p @param {any} document */
  function segment(p, document) {
    const known = document && find(document, p.id);
    const words = `${p.id}: ${percent(p.share)} of the loss, ${format(p.kpa, "mm", 2)} kPa`;
    return sized(
      h(
        `button.share.${p.kind === "channel" ? "wet" : "device"}`,
        {
          type: "button",
          title: words,
          "aria-label": words,
          "data-keep": `share-${p.id}`,
          onclick: () => known && actions.pick([p.id]),
          onmouseenter: () => store.set({ hover: p.id }),
          onmouseleave: () => store.set({ hover: null }),
        },
        h("span.share-id", {}, p.id),
        h("span.share-part", {}, percent(p.share)),
      ),
      p.share,
    );
  }

  store.watch(["look"], draw);
  return { draw };
}

/** The least share that has room for its name. @param {string} id */
const leastShare = (id) => Math.max(0.025, id.length * 0.0095);

const percent = (/** @type {number} */ share) => `${Math.round(share * 100)} %`;

/** @param {any} element @param {number} share */
function sized(element, share) {
  element.style.flexGrow = String(share);
  return element;
}

/** @param {string} value @param {string} unit @param {string} words */
const figure = (value, unit, words) =>
  h("p.figure", {}, h("span.big", {}, value), " ", h("span.figure-unit", {}, unit), h("span.figure-words", {}, words));
