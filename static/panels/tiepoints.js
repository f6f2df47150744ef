/** An item's tie to survey points: the points, to be chosen and cut. */

import { h } from "../dom.js";
import { MOST_POINTS, tieOf, tied, whyNotTied } from "../model/ties.js";
import { button } from "./form.js";

/**
 * @typedef {import("../types.js").PlateDocument} PlateDocument
 */

/** @param {Pick<import("./itempanel.js").Parts, "store"|"actions">} parts @param {PlateDocument} document @param {string} id */
export function ties({ store, actions }, document, id) {
  const why = whyNotTied(document, id);
  const tie = tieOf(document, id);
  // Without a survey there is nothing to say of it.
  if (why === null || (!tie && !(document.survey?.points ?? []).length)) return null;
  const points = tie?.points ?? [];
  const adjusted = store.get().answer?.survey?.points ?? [];
  const set = (/** @type {string} */ label, /** @type {string[]} */ names) =>
    actions.edit(label, (d) => tied(d, id, names, adjusted));
  const left = (document.survey?.points ?? []).map((point) => point.id).filter((name) => !points.includes(name));
  return h(
    "section.sub.ties",
    { "aria-label": "Tied to the survey" },
    h("h4", {}, "Tied to the survey"),
    h("p.quiet", {}, why || meaning(id, points)),
    points.length > 0 && chips(id, points, set),
    !why && left.length > 0 && points.length < MOST_POINTS && choice(id, points, left, set),
  );
}

/** @typedef {(label: string, names: string[]) => void} Set  ties the item to these points */

/** @param {string} id @param {readonly string[]} points */
const meaning = (id, points) =>
  points.length
    ? `A new reading that moves ${points.join(", ")} moves ${id} too${points.length > 1 ? ", and turns it" : ""}.`
    : "Choose the survey points it was placed by. It then moves with them and has their spread.";

/** The points it is tied to, to be cut. @param {string} id @param {readonly string[]} points @param {Set} set */
function chips(id, points, set) {
  const without = (/** @type {string} */ name) => points.filter((one) => one !== name);
  return h(
    "div.actions-row",
    {},
    points.map((name) =>
      button(`${name} ×`, () => set(`Untie ${id} from ${name}`, without(name)), {
        "aria-label": `Untie from ${name}`,
        "data-keep": `untie-${name}`,
      }),
    ),
    button("Cut the tie", () => set(`Cut the tie of ${id}`, []), { "data-keep": "cut-tie" }),
  );
}

/** A further point. @param {string} id @param {readonly string[]} points @param {string[]} left those there are besides @param {Set} set */
const choice = (id, points, left, set) =>
  h(
    "label.tie-add",
    {},
    h("span", {}, "Tie to point"),
    h(
      "select",
      {
        "data-keep": `tie-${id}`,
        onchange: (event) => {
          const name = event.currentTarget.value;
          if (name) set(`Tie ${id} to ${name}`, [...points, name]);
        },
      },
      h("option", { value: "" }, "choose…"),
      left.map((name) => h("option", { value: name }, name)),
    ),
  );
