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

  async function bring() {
    const { document, plate } = store.get();
    const kept = document?.photo ?? null;
    if (kept) layer.firstElementChild?.setAttribute("opacity", String(opacityOf(kept)));
    if (same(kept, shown?.kept) && plate?.id === shown?.plate) return;
    shown = { kept, plate: plate?.id };
    const mine = shown;
    layer.replaceChildren();
    if (!kept || !plate || known(kept) < 4) {
      store.set({ photoPlace: null });
      return;
    }
    try {
      const answer = await api.post("/api/photo/place", { document });
      const image = await loaded(`/api/plates/${plate.id}/files/${kept.file}`);
      if (mine !== shown) return;
      store.set({ photoPlace: { answer } });
      const picture = await straightened(image, kept, answer);
      if (mine === shown && picture) layer.replaceChildren(element(picture, opacityOf(store.get().document.photo)));
    } catch (error) {
      if (mine === shown) store.set({ photoPlace: { problem: problemOf(error) } });
    }
  }

  store.watch(["document", "plate"], () => void bring());
}

/** @param {Photo|null|undefined} a @param {Photo|null|undefined} b */
const same = (a, b) => a?.file === b?.file && JSON.stringify([a?.marks, a?.edges]) === JSON.stringify([b?.marks, b?.edges]);

/** How many marks place it. @param {Photo} photo */
const known = ({ marks }) => (marks ?? []).filter((m) => !m.check).length;

/** @param {Photo|null|undefined} photo */
const opacityOf = (photo) => photo?.opacity ?? DEFAULTS.Photo.opacity;

/** @param {string} url */
async function loaded(url) {
  const image = new Image();
  image.src = url;
  await image.decode();
  return image;
}

/** What is wrong, in words. @param {unknown} error */
const problemOf = (error) =>
  error instanceof DOMException && error.name === "EncodingError"
    ? "The photo cannot be shown: its file is damaged or not kept with this plate. Choose it again."
    : sentence(error);

/**
 * The photo as it would be seen from straight above, around its marks and as far again.
 * @param {HTMLImageElement} image @param {Photo} kept @param {NonNullable<import("../types.js").PhotoPlace["answer"]>} answer
 * @returns {Promise<{blob: Blob, box: import("../types.js").Box}|null>} with the box that it fills, mm; null where nothing of it is in sight
 */
async function straightened(image, kept, answer) {
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
  if (!box) return null;
  const pixel = pixelOf(answer.lens, [first.x_mm, first.y_mm]);
  const scale = FINEST / Math.max(box[2] - box[0], box[3] - box[1]);
  const canvas = warp(image, pixel, [kept.width_px, kept.height_px], box, scale);
  /** @type {Blob|null} */
  const blob = await new Promise((done) => canvas.toBlob(done, "image/png"));
  return blob && { blob, box };
}

/** @param {{blob: Blob, box: import("../types.js").Box}} picture @param {number} opacity */
function element({ blob, box }, opacity) {
  const url = URL.createObjectURL(blob);
  const made = s("image", {
    href: url,
    x: box[0],
    y: -box[3],
    width: box[2] - box[0],
    height: box[3] - box[1],
    preserveAspectRatio: "none",
    transform: "scale(1 -1)",
    opacity,
  });
  made.addEventListener("load", () => URL.revokeObjectURL(url));
  return made;
}
