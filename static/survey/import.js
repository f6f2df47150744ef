/** A floor from a drawing: a DXF or SVG file, its unit asked for when it does not say. */

import { send, sentence } from "../server/api.js";
import { h } from "../dom.js";
import { outlineCorners } from "../model/document.js";
import { button } from "../panels/form.js";
import { chosen } from "./typed.js";

/** @type {[string, string][]} */
const INNER = [
  ["openings", "openings in the floor"],
  ["obstacles", "obstacles, 10 mm high"],
  ["nothing", "nothing"],
];

/** @param {Blob} file @returns {Promise<string>} the content in base64 */
const base64 = (file) =>
  new Promise((done, failed) => {
    const reader = new FileReader();
    reader.onload = () => done(String(reader.result).replace(/^data:[^,]*,/, ""));
    reader.onerror = () => failed(reader.error);
    reader.readAsDataURL(file);
  });

/** @param {import("../steps/parts.js").Context} context */
export function drawing(context) {
  // Long, because what is read and what is used are one small state.
  const { store, actions, api, local, again } = context;
  local.drawing ??= { file: null, kind: "", unit: "", options: null, found: null, problem: "", inner: "openings", job: "", share: 0 };
  const now = local.drawing;

  async function look() {
    Object.assign(now, { found: null, problem: "", options: null });
    try {
      const { ok, content } = await send(
        "POST",
        `/api/floor/import?${new URLSearchParams({ kind: now.kind, ...(now.unit ? { unit: now.unit } : {}) })}`,
        now.file,
      );
      if (ok) now.found = content;
      else if (content?.error?.code === "too-long") await wait();
      else
        Object.assign(now, {
          problem: content?.error?.message ?? "The server could not read it.",
          options: content?.error?.code === "unit-unknown" ? (content.options ?? content.error.options) : null,
        });
    } catch (error) {
      now.problem = sentence(error);
    }
    again();
  }

  /** A drawing that takes longer: read beside the server, with its progress shown, until it is done or cancelled. */
  async function wait() {
    const query = new URLSearchParams({ kind: now.kind, ...(now.unit ? { unit: now.unit } : {}) });
    const { ok, content } = await send("POST", `/api/floor/imports?${query}`, now.file);
    if (!ok) {
      now.problem = content?.error?.message ?? "The server could not read it.";
      return;
    }
    now.job = content.job;
    const asked = now.file;
    while (now.job === content.job && now.file === asked) {
      const state = await api.get(`/api/floor/imports/${content.job}`);
      now.share = state.share;
      if (state.state !== "running") {
        now.job = "";
        if (state.state === "done") now.found = state.answer;
        else now.problem = state.error || "The import was cancelled.";
        return;
      }
      again();
      await new Promise((done) => setTimeout(done, 400));
    }
  }

  async function cancel() {
    const job = now.job;
    now.job = "";
    now.problem = "The import was cancelled.";
    await send("DELETE", `/api/floor/imports/${job}`, new Blob()).catch(() => null);
    again();
  }

  async function use() {
    try {
      const { document } = await api.post("/api/floor/use", {
        document: store.get().document,
        kind: now.kind,
        unit: now.unit,
        inner: now.inner,
        content_base64: await base64(now.file),
      });
      local.drawing = undefined;
      actions.commit(document, "Take the floor from a drawing");
      actions.say("The drawing's outline is the floor now. Undo brings the old one back.");
    } catch (error) {
      now.problem = sentence(error);
    }
    again();
  }

  return h(
    "div.survey-file",
    {},
    h("label", { for: "floor-drawing" }, "Drawing of the floor, DXF or SVG"),
    h("input", {
      type: "file",
      id: "floor-drawing",
      accept: ".dxf,.svg,image/svg+xml",
      "data-keep": "floor-drawing",
      onchange: (event) => {
        const file = event.currentTarget.files?.[0];
        if (!file) return;
        const kind = /\.(dxf|svg)$/i.exec(file.name)?.[1].toLowerCase() ?? "";
        Object.assign(now, {
          file,
          kind,
          unit: "",
          found: null,
          options: null,
          problem: kind ? "" : "A floor comes from a .dxf or an .svg file.",
        });
        if (kind) void look();
        else again();
      },
    }),
    now.file && h("p.quiet", {}, now.file.name),
    h("p.problem", { role: "alert" }, now.problem),
    now.job &&
      h(
        "div.actions-row",
        { role: "status" },
        h("span", {}, `A large drawing: ${Math.round(100 * now.share)} % read`),
        button("Cancel", cancel, { "data-keep": "cancel-drawing" }),
      ),
    now.options && unitChoice(now, look),
    now.found && foundPart(now, use),
  );
}

/** The unit, where the file does not say it. @param {any} now what the page keeps of the drawing @param {() => Promise<void>} look */
function unitChoice(now, look) {
  return h(
    "label",
    {},
    "Its unit is ",
    chosen({
      keep: "drawing-unit",
      label: "Unit of the drawing",
      value: now.unit,
      empty: "say which",
      options: now.options.map((/** @type {string} */ u) => [u, u]),
      change: (unit) => {
        now.unit = unit;
        if (unit) void look();
      },
    }),
  );
}

/** What was found in the file, and the button that makes it the floor. @param {any} now what the page keeps of the drawing @param {() => Promise<void>} use */
function foundPart(now, use) {
  const size = extent(now.found.outline);
  return h(
    "div",
    { role: "status" },
    h(
      "p",
      {},
      `The outline is ${size[0].toFixed(1)} by ${size[1].toFixed(1)} mm, read in ${now.found.unit}, with ${now.found.inner.length} ${now.found.inner.length === 1 ? "outline" : "outlines"} in it.`,
    ),
    now.found.messages.map((/** @type {string} */ words) => h("p.quiet", {}, words)),
    now.found.inner.length > 0 &&
      h(
        "label",
        {},
        "What lies in it becomes ",
        chosen({
          keep: "drawing-inner",
          label: "What lies in the outline becomes",
          value: now.inner,
          options: INNER,
          change: (inner) => {
            now.inner = inner;
          },
        }),
      ),
    h("div.actions-row", {}, button("Make it the floor", use, { class: "do", "data-keep": "use-drawing" })),
  );
}

/** Width and depth of an outline, mm. @param {import("../types.js").Outline} outline @returns {[number, number]} */
function extent(outline) {
  if (outline.shape === "circle") return [outline.diameter_mm, outline.diameter_mm];
  if (outline.shape === "rectangle") return [outline.width_mm, outline.depth_mm];
  const corners = outlineCorners(outline);
  const across = (/** @type {0|1} */ axis) => {
    const values = corners.map((corner) => corner[axis]);
    return Math.max(...values) - Math.min(...values);
  };
  return [across(0), across(1)];
}
