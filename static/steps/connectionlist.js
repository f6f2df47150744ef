/** Connections: which ports channels are to join, made from what is selected or from the order of the devices. */

import { h } from "../dom.js";
import {
  connectionsOf,
  fromOrder,
  inWords,
  join,
  orderFault,
  orderOf,
  whyNotJoined,
  withoutConnection,
} from "../model/connections.js";
import { button } from "../panels/form.js";
import { deviceChips } from "./devicechips.js";
import { part } from "./parts.js";

/**
 * @typedef {import("./parts.js").Context} Context
 * @typedef {import("../types.js").DeviceOrder} DeviceOrder
 */

/** @param {Context} context */
export function connections(context) {
  const { store, actions, local } = context;
  const { document, selection } = store.get();
  const list = connectionsOf(document);
  const say = (/** @type {string} */ words) => {
    local.connectionWords = words;
    context.again();
  };
  const joinSelected = () => {
    const ids = store.get().selection;
    const fault = whyNotJoined(store.get().document, ids);
    if (!fault) actions.edit(`Join ${inWords(ids)}`, (d) => join(d, ids));
    say(fault || `${inWords(ids)} are to be joined.`);
  };
  return part(
    "Connections",
    list.length
      ? h(
          "ul",
          { "aria-label": "Connections" },
          list.map((one, index) => row(context, one, index)),
        )
      : h("p.quiet", {}, "None yet. A connection says which ports channels are to join."),
    h(
      "div.actions-row",
      {},
      button("Join selected ports", joinSelected, { "data-keep": "join-ports" }),
      selection.length > 0 && h("span.quiet", {}, `Selected: ${selection.join(", ")}`),
    ),
    order(context, say),
    h("div", { role: "status" }, local.connectionWords && h("p", {}, local.connectionWords)),
  );
}

/** @param {Context} context @param {import("../model/connections.js").Connection} connection @param {number} index */
function row({ actions, again, local }, { ports, parts }, index) {
  const words = inWords(ports);
  const state =
    parts.length === 1 ? "joined by channels" : parts.length < ports.length ? "joined in part" : "not joined yet";
  return h(
    "li.connection",
    {},
    h(
      "span",
      {},
      h(
        "button.link.id",
        {
          type: "button",
          "data-keep": `connection-${words}`,
          "aria-label": `Select ${words}`,
          onclick: () => actions.select(ports),
        },
        words,
      ),
      h("span.state", {}, state),
    ),
    button(
      "Remove",
      () => {
        local.connectionWords = `${words} is no longer a connection.`;
        actions.edit(`Remove connection ${words}`, (d) => withoutConnection(d, index));
        again();
      },
      { "aria-label": `Remove connection ${words}`, "data-keep": `unjoin-${index}` },
    ),
  );
}

/** Ids as they are typed, with whatever stands between them. @param {string} typed */
const idsIn = (typed) => typed.split(/[\s,;→>]+/).filter(Boolean);

/** @param {Context} context @param {(words: string) => void} say */
function order(context, say) {
  const { store, actions, local } = context;
  const { document } = store.get();
  const usual = orderOf(document).join(", ");
  if (!usual) return null;
  const input = h("textarea.one-line", {
    rows: usual.length > 28 ? 2 : 1,
    id: "device-order",
    autocomplete: "off",
    spellcheck: "false",
    value: local.deviceOrder ?? usual,
    "data-keep": "device-order",
    "aria-describedby": "device-order-help",
    oninput: () => {
      local.deviceOrder = input.value;
      const next = chips();
      shown.replaceWith(next);
      shown = next;
    },
    onkeydown: (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      make();
    },
  });
  const chips = () =>
    deviceChips(idsIn(input.value), (ids) => {
      input.value = ids.join(", ");
      local.deviceOrder = input.value;
    });
  let shown = chips();
  const make = () => {
    const ids = idsIn(input.value);
    const fault = orderFault(store.get().document, ids);
    if (fault) return say(fault);
    const made = fromOrder(store.get().document, ids);
    actions.commit(made.document, "Connections from the order of devices");
    delete local.deviceOrder;
    return say(made.said.join(" "));
  };
  return h(
    "div.order",
    {},
    h("label", { for: "device-order" }, "Order of devices"),
    input,
    shown,
    h(
      "p.help",
      { id: "device-order-help" },
      "As the coolant meets them: type it, or drag the devices. The outlet of each is joined with the inlet of the next, the last with the first.",
    ),
    h(
      "div.actions-row",
      {},
      button("From the order of devices", make, { "data-keep": "order-join", class: mainWhile(store.get().document) }),
      button("Suggest orders", () => suggest(context), { "data-keep": "order-suggest" }),
    ),
    suggestions(context, say),
  );
}

/** With ports placed and nothing joined, the order of devices is the shortest way on. @param {import("../types.js").PlateDocument} document */
const mainWhile = ({ loop, channels, ports }) =>
  !loop?.connections?.length && !channels?.length && (ports ?? []).filter((port) => port.serves).length > 1 ? "do" : "";

/** Asks for orders that make the plate simpler. @param {Context} context */
const suggest = ({ store, api, ask, local, again }) =>
  ask("Orders of the devices", async () => {
    const { document } = store.get();
    const { orders } = await api.post("/api/orders", { document });
    Object.assign(local, { orders, ordersOf: document });
    again();
  });

/** What was found, each with a button that makes the connections. @param {Context} context @param {(words: string) => void} say */
function suggestions({ store, actions, local }, say) {
  const { document } = store.get();
  // What was found for another plate, or before a change, is not shown.
  if (!local.orders || local.ordersOf !== document) return null;
  if (!local.orders.length) return h("p.quiet", {}, "There is only one order: fewer than three devices have ports on the plate.");
  return h(
    "ul.plain",
    { "aria-label": "Orders of devices" },
    local.orders.map((/** @type {DeviceOrder} */ one, /** @type {number} */ index) =>
      h(
        "li.connection",
        {},
        h("span", {}, one.order.join(" → "), h("span.state", {}, orderWords(one))),
        one.present
          ? h("span.quiet", {}, "as it is")
          : button(
              "Use this order",
              () => {
                const made = fromOrder(document, one.order);
                actions.commit(made.document, "Connections from a suggested order");
                say(made.said.join(" "));
              },
              { "aria-label": `Use the order ${one.order.join(", ")}`, "data-keep": `order-${index}` },
            ),
      ),
    ),
  );
}

/** @param {DeviceOrder} order */
function orderWords({ length_mm: length, crossings, warmest_block_c: warmest, costs_c: costs }) {
  const crossed = `${crossings || "no"} crossing${crossings === 1 ? "" : "s"}`;
  const change = costs === null || Math.abs(costs) < 0.005 ? "" : ` (${costs > 0 ? "+" : "−"}${Math.abs(costs).toFixed(2)} °C)`;
  const heat = warmest === null ? "" : `; coolant at the warmest block ${warmest.toFixed(1)} °C${change}`;
  return `${length.toFixed(0)} mm in straight lines, ${crossed}${heat}`;
}
