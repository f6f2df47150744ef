import { equal, test } from "./harness.js";
import { plate } from "./plate.js";
import * as arrange from "/static/model/arrange.js";
import { endAt, pulledOff, renumbered, withEnds } from "/static/model/dimensions.js";
import { remove } from "/static/model/edit.js";
import { withOutline } from "/static/model/outlines.js";
import { cornerInserted, cornerRemoved } from "/static/model/polygons.js";

const LINE = { id: "N1", first: { item: "P1" }, second: { item: "K1", part: "edge", index: 3 }, offset_mm: 10 };
const withLine = (line = LINE) => ({ ...plate(), dimensions: [line] });

test("a place that is clicked is a centre, a corner, an edge, or itself", () => {
  const at = (point, reach = 3, known = {}) => endAt(plate(), point, reach, known);
  equal(at([100, 100]), { item: "P1" });
  equal(at([150, 120]), { item: "K1" });
  // K1 is 40 by 20 about (150, 120); the plate 300 by 200 about (200, 150).
  equal(at([130, 110]), { item: "K1", part: "corner", index: 0 });
  equal(at([129, 121]), { item: "K1", part: "edge", index: 3 });
  equal(at([52, 130]), { item: "plate", part: "edge", index: 3 });
  equal(at([20, 25.5], 1), { item: "O1", part: "edge", index: 0 });
  equal(at([250, 170]), { x_mm: 250, y_mm: 170 });
  equal(at([60, 160], 3, { drops: [{ label: "D1.out", point: [60, 160] }] }), { item: "D1.out" });
  equal(at([61, 160], 3, { boxes: new Map([["D1", [62, 140, 90, 180]]]) }), { item: "D1", part: "edge", index: 3 });
  // What cannot be seen is not meant.
  equal(at([129, 121], 3, { hidden: (kind) => kind === "cutout" }), { x_mm: 129, y_mm: 121 });
});

test("a dimension line goes with what it measures, and a copy measures the copies", () => {
  equal(remove(withLine(), ["K1"]).dimensions, []);
  equal(remove(withLine(), ["P2"]).dimensions, [LINE]);
  const { document } = arrange.copy(withLine(), ["P1", "K1", "N1"], 20, 0);
  equal(document.dimensions[1], { id: "N2", first: { item: "P8" }, second: { item: "K2", part: "edge", index: 3 }, offset_mm: 10 });
  const alone = arrange.copy(withLine(), ["N1"], 20, 0).document.dimensions[1];
  equal([alone.first, alone.offset_mm], [{ item: "P1" }, 18]);
  equal(withEnds(LINE, (ref) => (ref === "P1" ? null : ref)), null);
});

test("a corner put in or taken out before an edge leaves the line on its edge", () => {
  const vertices = [[0, 0], [40, 0], [40, 30], [0, 30]].map(([x_mm, y_mm]) => ({ x_mm, y_mm }));
  const base = { ...withLine(), cutouts: [{ id: "K1", outline: { shape: "polygon", vertices } }] };
  const more = withOutline(base, "K1", (outline) => cornerInserted(outline, 1, [45, 15]));
  equal([more.cutouts[0].outline.vertices.length, more.dimensions[0].second.index], [5, 4]);
  equal(withOutline(more, "K1", (outline) => cornerRemoved(outline, 2)).dimensions[0].second.index, 3);
  equal(renumbered(base, "K2", base.cutouts[0].outline, more.cutouts[0].outline).dimensions[0], LINE);
});

test("a line is pulled off square to what it measures, to half a millimetre", () => {
  equal(pulledOff({ ...LINE, direction: "horizontal" }, [0, 0], [50, 9], 30, 4.3), 14.5);
  equal(pulledOff({ ...LINE, direction: "vertical" }, [0, 0], [50, 9], -3, 40), 7);
  // Aligned from (0, 0) to (30, 40): to the left is (-0.8, 0.6).
  equal(pulledOff(LINE, [0, 0], [30, 40], -8, 6), 20);
});
