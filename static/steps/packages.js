/** The two packages, the solids, and every sheet as a file of its own. */

import { h } from "../dom.js";
import { fieldOf } from "../panels/fields.js";
import { fileLink, taskButton, taskOf, taskState } from "./doing.js";
import { documentField, innerFold, part } from "./parts.js";
import { isKept, keepRevision } from "./revisions.js";

/** @typedef {import("./parts.js").Context} Context */

/** What stands on the drawing for the shop, the note first. */
const DRAWING = /** @type {const} */ (["note", "creator", "owner", "approver", "number", "quantity", "finish", "colour", "paper", "projection"]).map((key) => fieldOf("Drawing", key, undefined, { at: ["drawing"] }));

/** The key under which the state of any file is kept. */
const FILES = "files";

/** @param {Context} context */
export function packages(context) {
  const { store, local } = context;
  const { answer } = store.get();
  const errors = answer?.counts?.error ?? 0;
  const kept = isKept(context);
  const files = taskOf(context, FILES);
  const unkept = files.problem.startsWith("Keep a revision first");
  // A package that was asked for while the revision was being kept was refused; now it would not be.
  if (unkept && kept) files.problem = "";
  return part(
    "Packages",
    h("p", {}, "For the shop: a file for each set-up, the solids, the drawing, hole table, parts list and findings."),
    h(
      "div.actions-row",
      {},
      pack(context, "Download shop package (.zip)", "shop", errors || (unkept && !kept) ? "" : "do"),
      pack(context, "Download builder's package (.zip)", "builder", ""),
    ),
    errors > 0 &&
      h(
        "p.quiet",
        {},
        `${errors} ${errors === 1 ? "error is" : "errors are"} open: fix each, or write below why it is accepted.`,
      ),
    !errors &&
      !kept &&
      !unkept &&
      h("p.quiet", {}, "A package carries the label of the revision it is made from: you will be asked for one."),
    taskState(context, FILES, "Making the files. A package takes up to half a minute…"),
    unkept &&
      !kept &&
      h(
        "div.actions-row",
        {},
        taskButton(
          context,
          "keep-now",
          `Keep “${local.label ?? "hand-off"}” now`,
          async () => {
            await keepRevision(context, "hand-off");
            taskOf(context, FILES).problem = "";
          },
          { class: "do" },
        ),
      ),
    taskState(context, "keep-now", "Keeping the plate with its files…"),
    innerFold(
      "Title block and note for the shop",
      false,
      h(
        "div.fields",
        {},
        DRAWING.map((f) => documentField(context, f)),
      ),
    ),
    innerFold("Files one by one", false, one(context)),
  );
}

/** @param {Context} context @param {string} words @param {string} receiver @param {string} kind */
const pack = (context, words, receiver, kind) =>
  fileLink(
    context,
    words,
    "handoff",
    { receiver },
    { key: FILES, keep: `pack-${receiver}`, class: kind, role: "button" },
  );

/** Kinds of file as people say them. @type {Record<string, string>} */
const SUFFIXES = { dxf: "DXF", svg: "SVG", pdf: "PDF", step: "STEP", stl: "STL" };

/** Every sheet that the server knows, in the formats that it can have. @param {Context} context */
function one(context) {
  const { reference } = context.store.get();
  return [
    h("h5", {}, "The plate on one page"),
    h("p.quiet", {}, "Plan, sections, tables and findings; opens in any browser without this program, and prints."),
    h("div.actions-row", {}, fileLink(context, "plate.html", "plate.html", {}, { key: FILES, keep: "page-file" })),
    (reference?.sheets ?? []).map((sheet) => [
      h("h5", {}, sheet.title),
      h("p.quiet", {}, sheet.about),
      h(
        "div.actions-row",
        {},
        sheet.formats.map((format) =>
          fileLink(
            context,
            SUFFIXES[format] ?? format,
            "export",
            { sheet: sheet.name, format },
            {
              key: FILES,
              keep: `file-${sheet.name}-${format}`,
              label: `${sheet.title}, ${SUFFIXES[format] ?? format}`,
            },
          ),
        ),
      ),
    ]),
  ];
}
