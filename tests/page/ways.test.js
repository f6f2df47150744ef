/** Fields that remedies speak of; when the part beside the drawing is open. */

import { equal, ok, test } from "./harness.js";
import { isOpen } from "/static/panels/margin.js";
import { waysOut } from "/static/panels/ways.js";

test("a screw that pulls too hard leads to the cord's hardness, its size, its spacing and its insert", () => {
  equal(
    waysOut("screw-load").map(({ step, keep }) => [step, keep]),
    [
      ["hand-off", "seal-hardness_shore_a"],
      ["hand-off", "seal-screw"],
      ["hand-off", "seal-screw_pitch_mm"],
      ["hand-off", "seal-insert_pull_n"],
    ],
  );
  ok(waysOut("screw-load").every(({ label }) => label.length > 2));
  equal(waysOut("wall-port-port"), []);
});

test("while a tool is in use on a narrow window, the part beside the drawing keeps off", () => {
  const state = { margin: "auto", selection: ["P1"], finding: null, tool: null };
  equal(isOpen(state, 1280), true);
  equal(isOpen({ ...state, tool: { name: "port" } }, 1280), false);
  equal(isOpen({ ...state, tool: { name: "port" }, margin: "open" }, 1280), true);
  equal(isOpen({ ...state, selection: [] }, 1280), false);
  equal(isOpen({ ...state, selection: [] }, 1920), true);
});
