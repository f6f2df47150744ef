/** The course of a tube by number: its corners in space, laid by hand or proposed. On the card of a tube, and of a port that one drops to. */

import { h } from "../dom.js";
import { layFrom } from "../canvas/tubetool.js";
import { setValue } from "../model/edit.js";
import { insertTubePoint, removeTubePoint, tubeCorners, tubePoints } from "../model/tubes.js";
import { bareLength } from "./barelength.js";
import { button } from "./form.js";

/**
 * @typedef {import("./itempanel.js").Parts} Parts
 * @typedef {import("../types.js").Item} Item
 * @typedef {import("../types.js").Kind} Kind
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 */

/** The fields of a corner, and what each is called. @type {["x_mm"|"y_mm"|"z_mm", string][]} */
const PLACES = [
  ["x_mm", "from the left"],
  ["y_mm", "from the front"],
  ["z_mm", "above the floor"],
];

/** @param {Parts} parts @param {PlateDocument} document @param {Kind} kind @param {Item} item */
export function tubeCourse(parts, document, kind, item) {
  const points = tubePoints(document, item.id);
  if (!points) return null;
  const { store, actions, stage } = parts;
  const { spot } = store.get();
  const at = kind === "tube" ? ["points"] : ["tube", "points"];
  const set = (/** @type {number} */ i, /** @type {string} */ key, /** @type {string} */ name, /** @type {number|null} */ next) =>
    actions.edit(`Change ${name.toLowerCase()} of the tube ${item.id}`, (d) => setValue(d, item.id, [...at, i, key], next));
  const row = (/** @type {import("../format_types.js").TubePoint} */ point, /** @type {number} */ i) => {
    const name = `Tube corner ${i + 1}`;
    const keep = `${item.id}-${at.join("-")}-${i}`;
    return h(
      "li",
      { class: spot?.id === item.id && spot.index === i ? "chosen" : null },
      PLACES.map(([key, words]) =>
        bareLength(parts, { keep: `${keep}-${key}`, name: `${name} ${words}`, value: point[key] }, (next) =>
          set(i, key, `${name} ${words}`, next),
        ),
      ),
      bareLength(
        parts,
        { keep: `${keep}-bend_radius_mm`, name: `${name} bend radius`, value: point.bend_radius_mm ?? null, hint: "R" },
        (next) => set(i, "bend_radius_mm", `${name} bend radius`, next),
      ),
      button("×", () => actions.edit(`Remove a corner of the tube ${item.id}`, (d) => removeTubePoint(d, item.id, i), { spot: null }), {
        "aria-label": `Remove tube corner ${i + 1}`,
        "data-keep": `rm-tube-${i}`,
      }),
    );
  };
  return h(
    "section.sub",
    { role: "group", "aria-label": "Tube's course" },
    h("h4", {}, `Tube's course (${points.length} ${points.length === 1 ? "corner" : "corners"})`),
    points.length ? h("ol.corners.in-space", {}, points.map(row)) : h("p.quiet", {}, "It runs straight from port to port."),
    h(
      "div.actions-row",
      {},
      button("Draw its course", () => layFrom(parts, kind === "tube" ? (item.start ?? "") : item.id), { "data-keep": "lay-tube" }),
      button("Propose its course", () => propose(parts, item.id), { "data-keep": "propose-tube" }),
      stage.ends.has(item.id) ? button("Add a corner", () => addCorner(parts, document, item.id), { "data-keep": "add-tube-corner" }) : null,
    ),
  );
}

/** A corner in the middle of the longest leg. @param {Parts} parts @param {PlateDocument} document @param {string} id */
function addCorner({ actions, stage }, document, id) {
  const ends = stage.ends.get(id);
  if (!ends) return;
  const corners = tubeCorners(document, id, ends);
  const legs = corners.slice(1).map((to, i) => Math.hypot(...to.map((v, axis) => v - corners[i][axis])));
  const index = legs.indexOf(Math.max(...legs));
  const middle = /** @type {import("../model/tubes.js").Place} */ (
    corners[index].map((v, axis) => (v + corners[index + 1][axis]) / 2)
  );
  actions.edit(`Add a corner to the tube ${id}`, (d) => insertTubePoint(d, id, index, middle), { spot: { id, index } });
}

/** The server's course: fewest bends, then shortest, clear of everything. @param {Parts} parts @param {string} id */
const propose = ({ store, actions, api, ask }, id) =>
  ask("The course stays as it was", async () => {
    const { document } = store.get();
    const made = await api.post("/api/tubes/propose", { document, only: [id] });
    if (store.get().document !== document) return;
    const said = made.proposals.find((/** @type {{id: string}} */ proposal) => proposal.id === id);
    if (!said || said.why) {
      actions.say(said?.why || "There is no tube to propose a course for.");
      return;
    }
    actions.commit(made.document, `Propose a course for the tube ${id}`, { spot: null });
    actions.say(`${said.bends} ${said.bends === 1 ? "bend" : "bends"}, ${Math.round(said.length_mm)} mm long.`);
  });
