/** The photo from above: chosen, marked in a dialog, and laid under the drawing at true scale. */

import { sentence } from "../server/api.js";
import { dialog } from "../panels/dialogs.js";
import { focusOn, h, s } from "../dom.js";
import { DEFAULTS } from "../format.js";
import { outlineCorners } from "../model/document.js";
import { put } from "../model/edit.js";
import { button } from "../panels/form.js";
import { QuantityError, format, parseQuantity } from "../model/quantity.js";
import { send } from "./import.js";
import { surveyOf } from "./edits.js";
import { chosen, typed } from "./typed.js";
import { facing, shownBox, warp } from "./warp.js";

/**
 * @typedef {import("../format_types.js").Photo} Photo
 * @typedef {import("../format_types.js").PhotoMark} PhotoMark
 */

/** Pixels of the warped picture along its longer side, at most. */
const FINEST = 2400;

/** @param {import("../steps/parts.js").Context} context */
export function photo(context) {
  const { store, actions, local, again } = context;
  const { document, plate } = store.get();
  const kept = document.photo;
  const choose = h("input", {
    type: "file",
    id: "floor-photo",
    accept: "image/png,image/jpeg",
    "data-keep": "floor-photo",
    onchange: async (event) => {
      const file = event.currentTarget.files?.[0];
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
  const placed = store.get().photoPlace;
  return h(
    "div.survey-file",
    {},
    h("p.quiet", {}, "Four points whose places you know lay a photo flat. Only what lies on the floor is true in it."),
    h("label", { for: "floor-photo" }, kept ? "Another photo, PNG or JPEG" : "Photo from above, PNG or JPEG"),
    choose,
    h("p.problem", { role: "alert" }, local.photoProblem ?? ""),
    kept && [
      h("p", {}, `${kept.width_px} × ${kept.height_px} pixels, ${(kept.marks ?? []).length} marks.`),
      placed?.problem && h("p.problem", {}, placed.problem),
      placed?.answer &&
        h(
          "div",
          { role: "status" },
          placed.answer.trust_mm !== null && h("p", {}, `Trust it to about ${placed.answer.trust_mm.toFixed(1)} mm.`),
          placed.answer.messages.map((words) => h("p.quiet", {}, words)),
        ),
      h(
        "label",
        {},
        `How strongly it shows: ${Math.round((kept.opacity ?? DEFAULTS.Photo.opacity) * 100)} %`,
        h("input", {
          type: "range",
          min: 0,
          max: 100,
          step: 5,
          value: Math.round((kept.opacity ?? DEFAULTS.Photo.opacity) * 100),
          "data-keep": "photo-opacity",
          onchange: (event) =>
            actions.edit("Change how strongly the photo shows", (d) =>
              put(d, ["photo", "opacity"], Number(event.currentTarget.value) / 100),
            ),
        }),
      ),
      h(
        "div.actions-row",
        {},
        button("Mark points in it", () => marking(context), { "data-keep": "mark-photo" }),
        button("Remove it", () => actions.edit("Remove the photo", (d) => put(d, ["photo"], undefined)), {
          "data-keep": "photo-out",
        }),
      ),
    ],
  );
}

/** A mark as it is drawn in the photo. @param {PhotoMark} m @param {number} i @param {number} shown px on the screen for one of the photo's */
function cross(m, i, shown) {
  const size = 9 / shown;
  return s(
    "g.photo-mark",
    { class: m.check ? "photo-mark check" : "photo-mark" },
    s("circle", { cx: m.x_px, cy: m.y_px, r: size }),
    s("path", {
      d: `M${m.x_px - size} ${m.y_px}h${2 * size}M${m.x_px} ${m.y_px - size}v${2 * size}`,
      stroke: "#cc79a7",
      "vector-effect": "non-scaling-stroke",
    }),
    s("text", { x: m.x_px + size, y: m.y_px - size, "font-size": 16 / shown, "stroke-width": 3 / shown }, i + 1),
  );
}

/** The dialog in which points are marked. @param {import("../steps/parts.js").Context} context */
function marking({ store, actions }) {
  // Long, because picture, list and fields of the dialog draw each other again.
  const { plate, document: plan } = store.get();
  const first = plan.photo;
  if (!plate || !first) return;
  const shown = Math.min(1, 860 / first.width_px);
  const layer = s("g");
  const picture = s(
    "svg",
    {
      width: first.width_px * shown,
      height: first.height_px * shown,
      viewBox: `0 0 ${first.width_px} ${first.height_px}`,
      role: "img",
      "aria-label": "The photo; click a point whose place you know",
    },
    s("image", { href: `/api/plates/${plate.id}/files/${first.file}`, width: first.width_px, height: first.height_px }),
    layer,
  );
  const list = h("div");
  const local = /** @type {import("../steps/parts.js").Context["local"]} */ ({});
  const change = (/** @type {string} */ label, /** @type {PhotoMark[]} */ marks) => {
    actions.edit(label, (d) => put(d, ["photo", "marks"], marks));
    draw();
  };
  picture.addEventListener("click", (event) => {
    const box = picture.getBoundingClientRect();
    const at = {
      x_px: Math.round(((event.clientX - box.left) / box.width) * first.width_px * 10) / 10,
      y_px: Math.round(((event.clientY - box.top) / box.height) * first.height_px * 10) / 10,
    };
    const marks = store.get().document.photo?.marks ?? [];
    // Corners of the floor come first, in their order, as the likeliest; any mark beyond the fourth checks.
    change("Mark a point in the photo", [
      ...marks,
      { ...at, ...guess(store.get(), marks.length), ...(marks.length >= 4 ? { check: true } : {}) },
    ]);
    requestAnimationFrame(() => focusOn(`[data-keep="mark-x-${marks.length}"]`));
  });

  function draw() {
    const kept = store.get().document.photo;
    if (!kept) return;
    const marks = kept.marks ?? [];
    const unit = store.get().unit;
    layer.replaceChildren(...marks.map((m, i) => cross(m, i, shown)));
    const set = (/** @type {number} */ i, /** @type {Partial<PhotoMark>} */ values) =>
      change(
        `Change mark ${i + 1}`,
        marks.map((m, k) => (k === i ? { ...m, ...values } : m)),
      );
    const input = (
      /** @type {number} */ i,
      /** @type {"x_mm"|"y_mm"} */ key,
      /** @type {string} */ label,
      /** @type {string} */ keep,
    ) =>
      typed(
        { local, again: draw },
        {
          keep: `${keep}-${i}`,
          label: `Mark ${i + 1}, ${label}`,
          value: format(marks[i][key], unit),
          take: (text) => {
            const value = parseQuantity(text, "length", unit);
            if (Math.abs(value) > 5000) throw new QuantityError("Nothing on a case floor is farther away than 5 m.");
            delete local.typed[`${keep}-${i}`];
            set(i, { [key]: value });
          },
        },
      );
    const places = (store.get().answer?.survey?.points ?? []).filter((p) => !p.loose);
    const markRow = (/** @type {PhotoMark} */ m, /** @type {number} */ i) =>
      h(
        "li",
        {},
        h("strong", {}, i + 1),
        h("label", {}, `From the left, ${unit}`, input(i, "x_mm", "from the left", "mark-x")),
        h("label", {}, `From the front, ${unit}`, input(i, "y_mm", "from the front", "mark-y")),
        places.length > 0 &&
          chosen({
            keep: `mark-point-${i}`,
            label: `Mark ${i + 1} is the surveyed point`,
            value: "",
            empty: "Survey point…",
            options: places.map((p) => [p.id, p.id]),
            change: (id) => {
              const p = places.find((other) => other.id === id);
              if (p) set(i, { x_mm: Math.round(p.x_mm * 1000) / 1000, y_mm: Math.round(p.y_mm * 1000) / 1000 });
            },
          }),
        h(
          "span.line",
          {},
          h(
            "label.check",
            {},
            h("input", {
              type: "checkbox",
              checked: Boolean(m.check),
              onchange: (event) => set(i, { check: event.currentTarget.checked }),
            }),
            "checks",
          ),
          button(
            "×",
            () =>
              change(
                `Remove mark ${i + 1}`,
                marks.filter((_, k) => k !== i),
              ),
            { class: "small", "aria-label": `Remove mark ${i + 1}` },
          ),
        ),
      );
    const active = /** @type {HTMLElement|null} */ (document.activeElement)?.dataset.keep;
    list.replaceChildren(
      h(
        "p.quiet",
        {},
        marks.length < 4
          ? `Click ${4 - marks.length} more ${marks.length === 3 ? "point" : "points"} whose place you know, spread over the floor; then type where each is.`
          : "Click further known points: they check how far the photo is to be trusted.",
      ),
      (marks.length > 0 &&
        h(
          "ol.photo-marks",
          {},
          marks.map((m, i) => markRow(m, i)),
        )) ||
        "",
    );
    if (active) focusOn(`.dialog-body [data-keep="${CSS.escape(active)}"]`);
  }

  draw();
  dialog(
    "Points in the photo",
    [h("div.photo-frame", { tabindex: 0, role: "region", "aria-label": "Photo" }, picture), list],
    { class: "wide" },
  );
}

/** The likeliest place of the next mark: a corner of the floor. @param {import("../types.js").State} state @param {number} count */
function guess({ document, answer }, count) {
  const survey = surveyOf(document);
  const corner = survey.outlines.find((o) => o.what === "floor")?.corners?.[count];
  const point = (answer?.survey?.points ?? []).find((p) => p.id === corner && !p.loose);
  if (point) return { x_mm: point.x_mm, y_mm: point.y_mm };
  const { outline } = document.floor;
  if (outline.shape === "rectangle") {
    const [sx, sy] = [
      [-1, -1],
      [1, -1],
      [1, 1],
      [-1, 1],
    ][count] ?? [0, 0];
    return { x_mm: outline.x_mm + (sx * outline.width_mm) / 2, y_mm: outline.y_mm + (sy * outline.depth_mm) / 2 };
  }
  const vertex = outlineCorners(outline)[count];
  return { x_mm: vertex?.[0] ?? 0, y_mm: vertex?.[1] ?? 0 };
}

/**
 * Keeps the photo under the drawing as the document has it. The layer counts mm, y to the rear; the picture is turned over in it.
 * @param {{store: import("../types.js").Store, api: import("../types.js").Api, layer: SVGGElement}} parts
 */
export function createPhoto({ store, api, layer }) {
  /** @type {{kept: Photo|null, plate: string|undefined}|null} */
  let shown = null;
  const same = (/** @type {Photo|null|undefined} */ a, /** @type {Photo|null|undefined} */ b) =>
    a?.file === b?.file && JSON.stringify(a?.marks) === JSON.stringify(b?.marks);

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
      const scale = FINEST / Math.max(box[2] - box[0], box[3] - box[1]);
      const canvas = warp(image, matrix, [kept.width_px, kept.height_px], box, scale);
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
