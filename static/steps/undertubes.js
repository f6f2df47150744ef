/** Ports under all tubes in one action, with what was in the way. */

import { h } from "../dom.js";
import { itemsOf } from "../model/document.js";
import { Said, taskButton, taskState } from "./doing.js";
import { part } from "./parts.js";
import { unservedPorts } from "./progress.js";

/** @typedef {import("../types.js").PortsAnswer} PortsAnswer */

/** @param {import("./parts.js").Context} context */
export function underTubes(context) {
  const { store, actions, api, local } = context;
  const { document, plate } = store.get();
  if (!itemsOf(document, "device").some((device) => (device.ports ?? []).length)) return null;
  if (local.tubesPlate !== plate?.id) Object.assign(local, { tubesPlate: plate?.id, tubesSaid: [] });
  const run = async () => {
    const asked = store.get().document;
    const done = /** @type {PortsAnswer} */ (await api.post("/api/ports", { document: asked }));
    if (store.get().document !== asked) throw new Said("The plate has changed meanwhile; nothing was moved. Try again.");
    local.tubesSaid = words(done);
    if (done.moves.length) actions.commit(done.document, "Ports under all tubes");
    actions.say(summary(done));
  };
  return part(
    "Ports under all tubes",
    h(
      "p.quiet",
      {},
      "Each port that is not locked goes right under its tube, or as near as the rules allow; ports that are missing are added.",
    ),
    h("div.actions-row", {}, taskButton(context, "under-tubes", "Place the ports", run, { class: waits(document) ? "do" : "" })),
    taskState(context, "under-tubes", "Looking for a place for each port…"),
    local.tubesSaid.length > 0 &&
      h(
        "ul.plain",
        { "aria-label": "What was done to the ports" },
        local.tubesSaid.map((/** @type {string} */ line) => h("li", {}, line)),
      ),
  );
}

/** Whether hardware waits for its ports: then they are what comes next. @param {import("../types.js").PlateDocument} document */
const waits = (document) => unservedPorts(document).length > 0;

/** @param {PortsAnswer} done */
function summary({ moves, left }) {
  const many = (/** @type {number} */ count) => `${count} ${count === 1 ? "port" : "ports"}`;
  if (!moves.length && !left.length) return "Every port stands under its tube already.";
  return `${many(moves.length)} moved or added, ${many(left.length)} left as they are. Undo brings all back.`;
}

/** What is worth reading: ports beside their tubes, turned ones, new ones, those left; channels to lay again. @param {PortsAnswer} done */
function words({ moves, left, channels }) {
  return [
    ...moves
      .filter((move) => move.off_mm > 0.005 || move.turned || move.new)
      .map((move) => {
        const parts = [
          move.new && `new, for ${move.serves}`,
          move.turned && `turned to ${move.face === "edge" ? "an edge" : `the ${move.face} face`}`,
          move.off_mm > 0.005 && `${move.off_mm.toFixed(1)} mm beside its tube`,
        ];
        return `${move.port}: ${parts.filter(Boolean).join(", ")}. ${move.why}`.trim();
      }),
    ...left.map((one) => `${one.port} stays: ${one.why}`),
    ...(channels.length ? [`${channels.join(", ")} end at moved ports: check them, or lay them again.`] : []),
  ];
}
