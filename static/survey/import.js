/** A floor from a drawing: a DXF or SVG file, its unit asked for when it does not say. */

import { send, sentence } from "../server/api.js";
import { h } from "../dom.js";
import { outlineCorners } from "../model/document.js";
import { fileChooser } from "../panels/filechooser.js";
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

/**
 * What the page keeps of a drawing that was opened.
 * @typedef {object} Opened
 * @property {File|null} file
 * @property {string} kind dxf or svg
 * @property {string} unit as the user said, where the file does not
 * @property {string[]|null} options units to choose from
 * @property {{outline: Outline, inner: unknown[], unit: string, messages: string[]}|null} found
 * @property {string} problem
 * @property {string} inner what lies in the outline becomes
 * @property {string} job of the server, for a large drawing
 * @property {boolean} [asking] while the server reads it
 * @property {number} share of it that is read
 *
 * @typedef {import("../steps/parts.js").Context} Context
 * @typedef {import("../types.js").Outline} Outline
 */

/** @type {Opened} */
const NOTHING = { file: null, kind: "", unit: "", options: null, found: null, problem: "", inner: "openings", job: "", share: 0 };
const UNREADABLE = "The server could not read it.";
/** Between two questions how far a large drawing is, ms. */
const PAUSE = 400;

/** @param {Context} context */
export function drawing(context) {
  const { local } = context;
  local.drawing ??= { ...NOTHING };
  /** @type {Opened} */
  const now = local.drawing;
  return h(
    "div.survey-file",
    {},
    h("label", { for: "floor-drawing" }, "Drawing of the floor, DXF or SVG"),
    fileChooser({
      id: "floor-drawing",
      accept: ".dxf,.svg,image/svg+xml",
      "data-keep": "floor-drawing",
      onchange: (event) => open(context, now, event.currentTarget.files?.[0]),
    }),
    now.file && h("p.quiet", {}, now.file.name),
    now.asking && h("div", { role: "status" }, h("progress", { "aria-label": "Reading the drawing…" }), h("p.quiet", {}, "Reading the drawing…")),
    h("p.problem", { role: "alert" }, now.problem),
    now.job && progress(now, () => cancel(context, now)),
    now.options && unitChoice(now, () => look(context, now)),
    now.found && foundPart(now, now.found, () => use(context, now)),
  );
}

/** @param {Context} context @param {Opened} now @param {File|undefined} file */
function open(context, now, file) {
  if (!file) return;
  const kind = /\.(dxf|svg)$/i.exec(file.name)?.[1].toLowerCase() ?? "";
  const problem = kind ? "" : "A floor comes from a .dxf or an .svg file.";
  Object.assign(now, { file, kind, unit: "", found: null, options: null, problem });
  if (kind) void look(context, now);
  else context.again();
}

/** @param {Opened} now */
const queryOf = ({ kind, unit }) => new URLSearchParams({ kind, ...(unit ? { unit } : {}) });

/** Asks the server what is in the file. @param {Context} context @param {Opened} now */
async function look(context, now) {
  Object.assign(now, { found: null, problem: "", options: null, asking: true });
  context.again();
  try {
    if (now.file) await read(context, now, now.file);
  } catch (error) {
    now.problem = sentence(error);
  }
  now.asking = false;
  context.again();
}

/** @param {Context} context @param {Opened} now @param {File} file */
async function read(context, now, file) {
  const { ok, content } = await send("POST", `/api/floor/import?${queryOf(now)}`, file);
  const error = content?.error;
  if (ok) now.found = content;
  else if (error?.code === "too-long") await wait(context, now, file);
  else {
    now.problem = error?.message ?? UNREADABLE;
    now.options = error?.code === "unit-unknown" ? (content.options ?? error.options) : null;
  }
}

/** A drawing that takes longer: read beside the server, with its progress shown, until it is done or cancelled. @param {Context} context @param {Opened} now @param {File} file */
async function wait({ api, again }, now, file) {
  const { ok, content } = await send("POST", `/api/floor/imports?${queryOf(now)}`, file);
  if (!ok) {
    now.problem = content?.error?.message ?? UNREADABLE;
    return;
  }
  now.job = content.job;
  while (now.job === content.job && now.file === file) {
    const state = await api.get(`/api/floor/imports/${content.job}`);
    now.share = state.share;
    if (state.state !== "running") {
      now.job = "";
      if (state.state === "done") now.found = state.answer;
      else now.problem = state.error || "The import was cancelled.";
      return;
    }
    again();
    await new Promise((done) => setTimeout(done, PAUSE));
  }
}

/** @param {Context} context @param {Opened} now */
async function cancel({ again }, now) {
  const { job } = now;
  Object.assign(now, { job: "", problem: "The import was cancelled." });
  await send("DELETE", `/api/floor/imports/${job}`, new Blob()).catch(() => null);
  again();
}

/** Makes what was found the plate's floor. @param {Context} context @param {Opened} now */
async function use({ store, actions, api, local, again }, now) {
  if (!now.file) return;
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

/** @param {Opened} now @param {() => Promise<void>} cancel */
const progress = (now, cancel) =>
  h(
    "div.actions-row",
    { role: "status" },
    h("span", {}, `A large drawing: ${Math.round(100 * now.share)} % read`),
    button("Cancel", cancel, { "data-keep": "cancel-drawing" }),
  );

/** The unit, where the file does not say it. @param {Opened} now @param {() => Promise<void>} look */
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
      options: (now.options ?? []).map((u) => [u, u]),
      change: (unit) => {
        now.unit = unit;
        if (unit) void look();
      },
    }),
  );
}

/** What was found in the file, and the button that makes it the floor. @param {Opened} now @param {NonNullable<Opened["found"]>} found @param {() => Promise<void>} use */
function foundPart(now, found, use) {
  const size = extent(found.outline);
  const inner = found.inner.length;
  return h(
    "div",
    { role: "status" },
    h(
      "p",
      {},
      `The outline is ${size[0].toFixed(1)} by ${size[1].toFixed(1)} mm, read in ${found.unit}, with ${inner} ${inner === 1 ? "outline" : "outlines"} in it.`,
    ),
    found.messages.map((words) => h("p.quiet", {}, words)),
    inner > 0 &&
      h(
        "label",
        {},
        "What lies in it becomes ",
        chosen({
          keep: "drawing-inner",
          label: "What lies in the outline becomes",
          value: now.inner,
          options: INNER,
          change: (chosen) => {
            now.inner = chosen;
          },
        }),
      ),
    h("div.actions-row", {}, button("Make it the floor", use, { class: "do", "data-keep": "use-drawing" })),
  );
}

/** Width and depth of an outline, mm. @param {Outline} outline @returns {[number, number]} */
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
