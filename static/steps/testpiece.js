/** Test piece: cut cheap, try it in the case, write down what was wrong, move the ports, cut again. */

import { h } from "../dom.js";
import { fit } from "./trial.js";
import { revisions } from "./revisions.js";
import { cautions, documentField, fold, part } from "./parts.js";

/** @type {any[]} */
const PIECE = [
  {
    path: ["test_piece", "material"],
    label: "Sheet",
    type: "choice",
    usual: "acrylic",
    options: [
      ["acrylic", "Acrylic"],
      ["plywood", "Plywood"],
    ],
    help: "What it is cut from. Never cut PVC or anything that gives off chlorine with a laser.",
  },
  {
    path: ["test_piece", "thickness_mm"],
    label: "Thickness",
    type: "length",
    above: 0,
    usual: 3,
    help: "Measured with a caliper: sheets are seldom what they are sold as.",
  },
  {
    path: ["test_piece", "kerf_mm"],
    label: "Kerf",
    type: "length",
    least: 0,
    most: 3,
    usual: 0.2,
    help: "What the beam or the cutter takes away. Cut a 100 mm square and measure what is missing.",
  },
  {
    path: ["test_piece", "port_holes"],
    label: "Port holes",
    type: "choice",
    usual: "bore",
    options: [
      ["bore", "At their bore"],
      ["tube", "At the tube's outside"],
      ["fitting", "At the fitting"],
    ],
    help: "What you want to try in the hole.",
  },
  {
    path: ["test_piece", "tabs"],
    label: "Tabs",
    type: "number",
    least: 0,
    most: 40,
    usual: 0,
    help: "Bridges that keep the piece in its sheet.",
  },
  {
    path: ["test_piece", "tab_width_mm"],
    label: "Tab width",
    type: "length",
    above: 0,
    usual: 1,
    help: "Of each bridge.",
  },
  {
    path: ["test_piece", "sheet_width_mm"],
    label: "Sheet width",
    type: "length",
    above: 0,
    usual: 600,
    help: "Of the sheet you have.",
  },
  {
    path: ["test_piece", "sheet_depth_mm"],
    label: "Sheet depth",
    type: "length",
    above: 0,
    usual: 400,
    help: "Of the sheet you have.",
  },
];

/** Links to a sheet's files. @param {import("./parts.js").Context} context @param {string} sheet @param {[string, string][]} formats */
export function files({ store, api }, sheet, formats) {
  const { plate, link } = store.get();
  if (!plate) return null;
  return h(
    "div.doings",
    {},
    formats.map(([format, words]) =>
      h(
        "a.button",
        {
          href: api.href(plate.id, "export", { sheet, format, state: String(plate.state) }),
          download: "",
          "aria-disabled": link === "away" ? "true" : null,
          "data-keep": `file-${sheet}-${format}`,
        },
        words,
      ),
    ),
  );
}

/** @param {import("./parts.js").Context} context */
export function testPiece(context) {
  return [
    part(
      "Cut it",
      h(
        "p",
        {},
        "The test piece is a thin sheet with the plate's outline, its holes and cutouts; channels and labels are marks.",
      ),
      files(context, "test-piece", [
        ["dxf", "DXF for the cutter"],
        ["svg", "SVG"],
        ["pdf", "PDF at true size"],
      ]),
      cautions(context, ["cut"]),
    ),
    fit(context),
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
      "Other sheets",
      false,
      h("h4", {}, "Paper at true size"),
      files(context, "paper", [["pdf", "PDF"]]),
      h("h4", {}, "What is cut in the case floor"),
      files(context, "floor-cut", [
        ["dxf", "DXF"],
        ["pdf", "PDF"],
      ]),
    ),
  ];
}
