/** Laying a tube: from port to port, corners between. The server gives the corners their heights and joins the ends. */

import { itemsAt } from "../geometry/hits.js";
import { distance } from "../geometry/path.js";
import { find } from "../model/document.js";
import { sentence } from "../server/api.js";
import { TOOLS, samePlace } from "./tools.js";

/**
 * @typedef {import("../types.js").Point} Point
 * @typedef {import("./tools.js").Parts} Parts
 * @typedef {import("./tools.js").Place} Place
 */

/** The device port or the port of the plate at a place; where both lie, the one that the other end can go with. @param {Parts} parts @param {Place} place @param {string|undefined} first */
function portAt({ store, stage }, { point, reach }, first) {
  const { document, answer, layers } = store.get();
  const hidden = new Set(Object.keys(layers).filter((name) => layers[name] === "hidden"));
  const port = itemsAt(document, point, reach, hidden, stage.roots).find((id) => find(document, id)?.kind === "port");
  const drop = (answer?.snaps ?? [])
    .filter((snap) => snap.kind === "drop" && snap.label !== first)
    .map((snap) => ({ id: snap.label, away: distance(snap.point, point) }))
    .filter(({ away }) => away <= 2 * reach)
    .sort((a, b) => a.away - b.away)[0]?.id;
  if (!port || !drop) return port ?? drop;
  if (!first) return port;
  const serves = find(document, port)?.item.serves;
  return first.includes(".") && (!serves || serves === first) ? port : drop;
}

/** @param {Parts} parts @returns {import("./tools.js").Behaviour} */
export function tubeTool(parts) {
  const { store, actions, api } = parts;
  let busy = false;

  /** @param {string} start @param {Point[]} places @param {string} end */
  async function lay(start, places, end) {
    const { document, tool } = store.get();
    busy = true;
    try {
      const made = await api.post("/api/tubes/lay", { document, start, end, places });
      if (store.get().document !== document || store.get().tool !== tool) return;
      actions.commit(made.document, `Lay the tube ${made.id}`, { selection: [made.id], course: [], tool: null, snap: null, spot: null });
      actions.say(`The tube ${made.id} runs from ${start} to ${end}. Drag its corners here, their heights in the elevations.`);
    } catch (error) {
      // What has been clicked stays: another end can be chosen.
      actions.say(sentence(error));
    } finally {
      busy = false;
    }
  }

  return {
    at(_, place) {
      if (busy) return;
      const { course } = store.get();
      const [first] = course;
      const id = portAt(parts, place, typeof first === "string" ? first : undefined);
      if (!course.length) {
        if (id) store.set({ course: [id] });
        else actions.say("A tube begins at a port. Click a port of a device or of the plate.");
      } else if (id && id !== first) void lay(String(first), /** @type {Point[]} */ (course.slice(1)), id);
      else if (!id && !samePlace(course.at(-1), place.point)) store.set({ course: [...course, place.point] });
    },
    finish: () => actions.say("A tube ends at a port. Click a port of a device or of the plate."),
  };
}

/** The tool in hand with its first port taken: what the card of a tube begins. @param {Pick<Parts, "store"|"actions">} parts @param {string} start */
export function layFrom({ store, actions }, start) {
  actions.tool(TOOLS.tube);
  store.set({ course: [start] });
}

/** Where a port of a device or of the plate stands in plan. @param {import("../types.js").State} state @param {string} ref @returns {Point|null} */
export const portPlace = ({ answer }, ref) =>
  answer?.snaps?.find((snap) => snap.kind === "drop" && snap.label === ref)?.point ?? null;
