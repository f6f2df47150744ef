/** The photo under the drawing, at true scale and straightened. */

import { sentence } from "../server/api.js";
import { s } from "../dom.js";
import { DEFAULTS } from "../format.js";
import { facing, pixelOf, shownBox, warp } from "./warp.js";

/** @typedef {import("../format_types.js").Photo} Photo */

/** Pixels of the warped picture along its longer side, at most. */
const FINEST = 2400;

/**
 * Keeps the photo under the drawing as the document has it. The layer counts mm, y to the rear; the picture is turned over in it.
 * @param {{store: import("../types.js").Store, api: import("../types.js").Api, layer: SVGGElement}} parts
 */
export function createPhoto({ store, api, layer }) {
  /** @type {{kept: Photo|null, plate: string|undefined}|null} */
  let shown = null;
  const same = (/** @type {Photo|null|undefined} */ a, /** @type {Photo|null|undefined} */ b) =>
    a?.file === b?.file && JSON.stringify([a?.marks, a?.edges]) === JSON.stringify([b?.marks, b?.edges]);

  async function bring() {
    const { document, plate } = store.get();
    const kept = document?.photo ?? null;
    if (kept && layer.firstElementChild)
      layer.firstElementChild.setAttribute("opacity", String(kept.opacity ?? DEFAULTS.Photo.opacity));
    if (same(kept, shown?.kept) && plate?.id === shown?.plate) return;
    shown = { kept, plate: plate?.id };
    const mine = shown;
    layer.replaceChildren();
    if (!kept || !plate || (kept.marks ?? []).filter((m) => !m.check).length < 4) {
      store.set({ photoPlace: null });
      return;
    }
    try {
      const answer = await api.post("/api/photo/place", { document });
      const image = new Image();
      image.src = `/api/plates/${plate.id}/files/${kept.file}`;
      await image.decode();
      if (mine !== shown) return;
      store.set({ photoPlace: { answer } });
      const marks = kept.marks ?? [];
      const [first] = marks;
      const matrix = facing(answer.matrix, first.x_px, first.y_px);
      const [xs, ys] = /** @type {const} */ (["x_mm", "y_mm"]).map((key) => marks.map((m) => m[key]));
      const reach = Math.max(Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys));
      const box = shownBox(matrix, kept.width_px, kept.height_px, [
        Math.min(...xs) - reach,
        Math.min(...ys) - reach,
        Math.max(...xs) + reach,
        Math.max(...ys) + reach,
      ]);
      if (!box) return;
      const pixel = pixelOf(answer.lens, [first.x_mm, first.y_mm]);
      const scale = FINEST / Math.max(box[2] - box[0], box[3] - box[1]);
      const canvas = warp(image, pixel, [kept.width_px, kept.height_px], box, scale);
      const blob = await new Promise((done) => canvas.toBlob(done, "image/png"));
      if (mine !== shown || !blob) return;
      const url = URL.createObjectURL(blob);
      const element = s("image", {
        href: url,
        x: box[0],
        y: -box[3],
        width: box[2] - box[0],
        height: box[3] - box[1],
        preserveAspectRatio: "none",
        transform: "scale(1 -1)",
        opacity: store.get().document.photo?.opacity ?? DEFAULTS.Photo.opacity,
      });
      element.addEventListener("load", () => URL.revokeObjectURL(url));
      layer.replaceChildren(element);
    } catch (error) {
      if (mine === shown)
        store.set({
          photoPlace: {
            problem:
              error instanceof DOMException && error.name === "EncodingError"
                ? "The photo cannot be shown: its file is damaged or not kept with this plate. Choose it again."
                : sentence(error),
          },
        });
    }
  }

  store.watch(["document", "plate"], () => void bring());
}
