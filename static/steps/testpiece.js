/** Test piece: cut cheap, try it in the case, write down what was wrong, move the ports, cut again. */

import { h } from "../dom.js";
import { verdictOf } from "../model/verdict.js";
import { fieldOf } from "../panels/fields.js";
import { trial } from "./trial.js";
import { revisions } from "./revisions.js";
import { sureness } from "./sureness.js";
import { fileLink, taskState } from "./doing.js";
import { cautions, documentField, fold, part } from "./parts.js";

const at = ["test_piece"];

const PIECE = [
  fieldOf(
    "TestPiece",
    "material",
    "What it is cut from. Never cut PVC or anything that gives off chlorine with a laser.",
    {
      at,
      type: "choice",
      options: [
        ["acrylic", "Acrylic"],
        ["plywood", "Plywood"],
      ],
    },
  ),
  fieldOf("TestPiece", "thickness_mm", "Measured with a caliper: stock is rarely exactly its nominal thickness.", {
    at,
  }),
  fieldOf(
    "TestPiece",
    "kerf_mm",
    "What the beam or the cutter takes away. Cut a 100 mm square and measure what is missing.",
    {
      at,
    },
  ),
  fieldOf("TestPiece", "port_holes", "What you want to try in the hole.", { at }),
  fieldOf("TestPiece", "tabs", "Bridges that keep the piece in its sheet.", { at }),
  fieldOf("TestPiece", "tab_width_mm", "Of each bridge.", { at }),
  fieldOf("TestPiece", "sheet_width_mm", "Of the sheet you have.", { at }),
  fieldOf("TestPiece", "sheet_depth_mm", "Of the sheet you have.", { at }),
];

/** Links to a sheet's files. @param {import("./parts.js").Context} context @param {string} sheet @param {[string, string][]} formats @param {string} [main] the format that most people want @param {string} [title] of the sheet, where the words alone do not say it */
function files(context, sheet, formats, main = "", title = "") {
  return [
    h(
      "div.actions-row",
      {},
      formats.map(([format, words]) =>
        fileLink(
          context,
          words,
          "export",
          { sheet, format },
          {
            key: `files-${sheet}`,
            keep: `file-${sheet}-${format}`,
            class: format === main ? "do" : "",
            ...(title ? { label: `${title}, ${words}` } : {}),
          },
        ),
      ),
    ),
    taskState(context, `files-${sheet}`, "Making the file…"),
  ];
}

/** @param {import("./parts.js").Context} context */
export function testPiece(context) {
  const { answer, old } = context.store.get();
  if (verdictOf(answer, old).kind === "empty")
    return h("p.quiet", {}, "There is nothing to cut yet. The files come with the first port, hole or cutout.");
  return [
    part(
      "Cut it",
      h(
        "p",
        {},
        "The test piece is a thin sheet with the plate's outline, its holes and cutouts; channels and labels are scored.",
      ),
      files(
        context,
        "test-piece",
        [
          ["dxf", "DXF for the cutter"],
          ["svg", "SVG"],
          ["pdf", "PDF at true size"],
        ],
        "dxf",
      ),
      cautions(context, ["cut"]),
    ),
    sureness(context),
    trial(context),
    revisions(context, "test-piece", "test piece"),
    fold(
      "How it is cut",
      false,
      h(
        "div.fields",
        {},
        PIECE.map((f) => documentField(context, f)),
      ),
    ),
    fold(
      "Other files",
      false,
      h("h4", {}, "Paper at true size"),
      files(context, "paper", [["pdf", "PDF"]], "", "Paper at true size"),
      h("h4", {}, "What is cut in the case floor"),
      files(
        context,
        "floor-cut",
        [
          ["dxf", "DXF"],
          ["pdf", "PDF"],
        ],
        "",
        "What is cut in the case floor",
      ),
    ),
  ];
}
