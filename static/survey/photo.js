/** The photo from above in the measuring step: chosen, marked, and what it is to be trusted for. */

import { send, sentence } from "../server/api.js";
import { h } from "../dom.js";
import { DEFAULTS } from "../format.js";
import { put } from "../model/edit.js";
import { fileChooser } from "../panels/filechooser.js";
import { button } from "../panels/form.js";
import { marking } from "./marking.js";

/** @param {import("../steps/parts.js").Context} context */
export function photo(context) {
  const { local } = context;
  const kept = context.store.get().document.photo;
  return h(
    "div.survey-file",
    {},
    h("p.quiet", {}, "Four points whose places you know lay a photo flat. Only what lies on the floor is true in it."),
    h("label", { for: "floor-photo" }, kept ? "Another photo, PNG or JPEG" : "Photo from above, PNG or JPEG"),
    chooser(context),
    h("p.problem", { role: "alert" }, local.photoProblem ?? ""),
    kept && [
      h(
        "p",
        {},
        `${kept.width_px} × ${kept.height_px} pixels, ${(kept.marks ?? []).length} marks, ${(kept.edges ?? []).length} straight edges.`,
      ),
      trust(context.store.get().photoPlace),
      strength(context, kept.opacity ?? DEFAULTS.Photo.opacity),
      h(
        "div.actions-row",
        {},
        button("Mark points and edges", () => marking(context), { "data-keep": "mark-photo" }),
        button("Remove it", () => context.actions.edit("Remove the photo", (d) => put(d, ["photo"], undefined)), {
          "data-keep": "photo-out",
        }),
      ),
    ],
  );
}

/** The field that a photo is chosen by. @param {import("../steps/parts.js").Context} context */
function chooser({ store, actions, local, again }) {
  return fileChooser({
    id: "floor-photo",
    accept: "image/png,image/jpeg",
    "data-keep": "floor-photo",
    onchange: async (event) => {
      const file = event.currentTarget.files?.[0];
      const { plate } = store.get();
      if (!file || !plate) return;
      local.photoProblem = "";
      try {
        const { ok, content } = await send("PUT", `/api/plates/${plate.id}/photo`, file);
        if (ok) actions.commit(put(store.get().document, ["photo"], content), "Lay a photo under the drawing");
        else local.photoProblem = content?.error?.message ?? "The server did not take the photo.";
      } catch (error) {
        local.photoProblem = sentence(error);
      }
      again();
    },
  });
}

/** How far the photo is to be trusted, in the server's words alone: said a second time here, the two would drift apart. @param {import("../types.js").PhotoPlace|null} placed */
function trust(placed) {
  if (placed?.problem) return h("p.problem", {}, placed.problem);
  const answer = placed?.answer;
  if (!answer) return null;
  return h(
    "div",
    { role: "status" },
    answer.messages.map((words) => h("p.quiet", {}, words)),
  );
}

/** @param {import("../steps/parts.js").Context} context @param {number} opacity */
const strength = ({ actions }, opacity) =>
  h(
    "label",
    {},
    `How strongly it shows: ${Math.round(opacity * 100)} %`,
    h("input", {
      type: "range",
      min: 0,
      max: 100,
      step: 5,
      value: Math.round(opacity * 100),
      "data-keep": "photo-opacity",
      onchange: (event) =>
        actions.edit("Change how strongly the photo shows", (d) =>
          put(d, ["photo", "opacity"], Number(event.currentTarget.value) / 100),
        ),
    }),
  );
