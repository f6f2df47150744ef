/** Lid screws placed by the server's design as one edit; and the offer to place them again where they now stand in the way. */

import { h } from "../dom.js";
import { inTheWay, withScrews, withoutLoose } from "../model/lidscrews.js";
import { Said, taskButton, taskState } from "./doing.js";

/** @typedef {import("./parts.js").Context} Context */

/** What the offer is called; the step Hand off has its own button. */
const OFFER = "Place the lid screws again";

/** Holes for the lid's screws, become one edit. @param {Pick<Context, "api"|"store"|"actions">} context @param {boolean} all whether the old ones go */
export async function placeScrews({ api, store, actions }, all) {
  const asked = store.get().document;
  const designed = await api.post("/api/screws", { document: asked, anew: all });
  if (!designed.holes.length) throw new Said("No screw found a place. The findings say why.");
  if (store.get().document !== asked) throw new Said("The plate was changed meanwhile. Place the screws again.");
  actions.edit("Place the lid screws", (d) => withScrews(all ? withoutLoose(d) : d, designed));
}

/** The first few of many, in words. @param {string[]} ids */
const few = (ids) =>
  ids.length > 4 ? `${ids.slice(0, 3).join(", ")} and ${ids.length - 3} more` : ids.join(", ").replace(/, ([^,]+)$/, " and $1");

/** That lid screws stand in the way; empty when none does. @param {import("../types.js").PlateDocument} document @param {readonly import("../types.js").Finding[]} findings */
function inTheWayWords(document, findings) {
  const { screws, of } = inTheWay(document, findings);
  if (!screws.length) return "";
  const [one, s] = screws.length === 1 ? ["stands", ""] : ["stand", "s"];
  return `Lid screw${s} ${few(screws)} ${one} in the way of ${few(of)}.`;
}

/** The offer above the findings, and the words that tell of it. @param {Pick<Context, "api"|"store"|"actions">} parts @param {() => void} again draws the offer */
export function createScrewOffer(parts, again) {
  const { store, actions } = parts;
  /** What is worked at, and what went wrong. @type {Context["local"]} */
  const local = {};
  let [before, plate] = ["", ""];
  return {
    /** @param {readonly import("../types.js").Finding[]} findings */
    offer(findings) {
      const words = inTheWayWords(store.get().document, findings);
      const state = taskState({ local }, "screws-offer", "Placing screws…");
      if (!words) return state;
      return h(
        "div.screw-offer",
        {},
        h("p", {}, `${words} They do not move by themselves.`),
        taskButton({ local, again }, "screws-offer", OFFER, () => placeScrews(parts, true), { class: "do" }),
        state,
      );
    },
    /** Says it when an edit has put screws in the way: they stay where they are, whatever is moved or laid again. @param {readonly import("../types.js").Finding[]} findings @returns {boolean} whether it was said */
    tell(findings) {
      const { document, draft, old, plate: now } = store.get();
      if (draft || old) return false;
      const words = inTheWayWords(document, findings);
      const fresh = words !== "" && words !== before && plate === now?.id;
      if (fresh) actions.say(`${words} “${OFFER}” stands above the findings.`);
      [before, plate] = [words, now?.id ?? ""];
      return fresh;
    },
  };
}
