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
import { part } from "./parts.js";

/** @typedef {import("./parts.js").Context} Context */

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

/** @param {Context} context @param {(words: string) => void} say */
function order({ store, actions, local }, say) {
  const { document } = store.get();
  const usual = orderOf(document).join(", ");
  if (!usual) return null;
  const input = h("input", {
    type: "text",
    id: "device-order",
    autocomplete: "off",
    spellcheck: "false",
    value: local.deviceOrder ?? usual,
    "data-keep": "device-order",
    "aria-describedby": "device-order-help",
    oninput: () => {
      local.deviceOrder = input.value;
    },
    onkeydown: (event) => {
      if (event.key === "Enter") make();
    },
  });
  const make = () => {
    const ids = input.value.split(/[\s,;→>]+/).filter(Boolean);
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
    h(
      "p.help",
      { id: "device-order-help" },
      "As the coolant meets them. The outlet of each is joined with the inlet of the next, the last with the first.",
    ),
    h("div.actions-row", {}, button("From the order of devices", make, { "data-keep": "order-join" })),
  );
}
