/** An item kept in the library of own parts, from its panel. */

import { h } from "../dom.js";
import { find } from "../model/document.js";
import { partKinds, partOf } from "../model/library.js";
import { sentence } from "../server/api.js";
import { button } from "./form.js";

/** How often a part has been kept while the page is open: who shows the library asks again when it has grown. */
export const kept = { count: 0 };

/** @type {Record<string, string>} */
const WORDS = { device: "Save to the library", board: "Save to the library", tube: "Save the tube to the library", fitting: "Save the fitting to the library" };

/** @param {Pick<import("./itempanel.js").Parts, "store"|"actions"|"api"|"ask">} parts @param {string} id */
export function savePart({ store, actions, api, ask }, id) {
  const { document } = store.get();
  const found = find(document, id);
  const kinds = found ? partKinds(found.kind).filter((kind) => partOf(document, id, kind, "x")) : [];
  if (!found || !kinds.length)
    return h("p.quiet", {}, "Its tube has no sizes and no fitting of its own yet: give it some under “All values”.");
  const name = h("input", {
    type: "text",
    maxlength: 120,
    value: found.item.name || id,
    autocomplete: "off",
    "aria-label": "Name in the library",
    "data-keep": `${id}-part-name`,
  });
  const problem = h("p.problem", { role: "status", hidden: true });
  /** The name that the user has agreed to replace. */
  let agreed = "";
  /** @param {import("../model/library.js").PartKind} kind */
  const keep = (kind) =>
    ask("The library", async () => {
      const part = partOf(store.get().document, id, kind, name.value.trim());
      problem.hidden = Boolean(part?.name);
      problem.textContent = "Give it a name.";
      if (!part?.name) return;
      try {
        const { parts: own } = await api.parts();
        if (own.some((one) => one.name === part.name) && agreed !== part.name) {
          agreed = part.name;
          problem.hidden = false;
          problem.textContent = `The library has another “${part.name}”. Press again to replace it, or give this one another name.`;
          return;
        }
        await api.keepPart(part);
        kept.count += 1;
        actions.say(`${part.name} is kept in the library.`);
      } catch (error) {
        problem.hidden = false;
        problem.textContent = sentence(error);
      }
    });
  return h(
    "div",
    {},
    h("div.actions-row.part-name", {}, name, kinds.map((kind) => button(WORDS[kind], () => keep(kind), { "data-keep": `${id}-keep-${kind}` }))),
    problem,
  );
}
