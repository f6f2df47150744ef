import { plate } from "./plate.js";
import { equal, test } from "./harness.js";
import { along, dimensionOf, endAt, endWords, pulledOff, renumbered, withEnds } from "/static/model/dimensions.js";

test("a place names the centre or the corner that it is on, else the nearest edge within reach, else itself", () => {
  const document = plate();
  equal(endAt(document, [200, 200], 5), { item: "P2" });
  // The cutout's corners are at 130 and 170, 110 and 130.
  const corner = endAt(document, [130, 110], 5);
  equal([corner.item, corner.part], ["K1", "corner"]);
  equal(endAt(document, [150, 120], 5), { item: "K1" });
  const edge = endAt(document, [150, 131], 5);
  equal([edge.item, edge.part], ["K1", "edge"]);
  // C1 is 10 wide and goes up from P1: its wall is at 105.
  equal(endAt(document, [106, 150], 5), { item: "C1", part: "edge", index: 0 });
  equal(endAt(document, [106, 150], 5, { hidden: (kind) => kind === "channel" }), { x_mm: 106, y_mm: 150 });
  equal(endAt(document, [250, 150], 5), { x_mm: 250, y_mm: 150 });
});

test("device ports and the boxes of boards are known by where they are drawn", () => {
  const document = plate();
  equal(endAt(document, [90, 95], 5, { drops: [{ label: "D1.out", point: [90, 95] }] }), { item: "D1.out" });
  const boxes = new Map([["B1", [280, 90, 320, 110]]]);
  equal(endAt(document, [300, 91], 5, { boxes }), { item: "B1", part: "edge", index: 0 });
});

test("ends in words", () => {
  equal(endWords({ x_mm: 10, y_mm: 5.5 }), "the point 10, 5.5");
  equal(endWords({ item: "P1" }), "the centre of P1");
  equal(endWords({ item: "D1.out" }), "D1.out");
  equal(endWords({ item: "K1", part: "edge", index: 2 }), "an edge of K1");
  equal(endWords({ item: "K1", part: "corner", index: 0 }), "a corner of K1");
});

test("ends follow what they name; a line whose end names nothing any more is gone", () => {
  const line = { id: "N1", first: { item: "P1" }, second: { x_mm: 10, y_mm: 20 } };
  const copied = withEnds(line, (ref) => `${ref}0`, ([x, y]) => [x + 5, y]);
  equal([copied.first, copied.second], [{ item: "P10" }, { x_mm: 15, y_mm: 20 }]);
  equal(withEnds(line, () => null), null);
});

test("a drag counts across the line alone, and goes in half millimetres", () => {
  const level = { id: "N1", direction: "horizontal", offset_mm: 10 };
  equal(pulledOff(level, [0, 0], [50, 0], 30, 4.3), 14.5);
  equal(pulledOff({ ...level, direction: "vertical" }, [0, 0], [0, 50], 3, 40), 13);
  // Along a line that rises at 45 degrees the way off it is up and to the left.
  const off = along({ direction: "aligned" }, [0, 0], [10, 10], -1, 1);
  equal(Math.abs(off - Math.SQRT2) < 1e-12, true);
});

test("numbers of corners and edges follow when a polygon gains or loses a corner before them", () => {
  const square = [[0, 0], [10, 0], [10, 10], [0, 10]].map(([x_mm, y_mm]) => ({ x_mm, y_mm }));
  const before = { shape: "polygon", vertices: square };
  const after = { shape: "polygon", vertices: [square[0], { x_mm: 5, y_mm: 0 }, ...square.slice(1)] };
  const line = (index) => ({ id: "N1", first: { item: "K1", part: "corner", index }, second: { item: "K1" } });
  const at = (index, from, to) => renumbered({ dimensions: [line(index)] }, "K1", from, to).dimensions[0].first.index;
  equal([at(0, before, after), at(1, before, after), at(3, before, after)], [0, 2, 4]);
  equal([at(0, after, before), at(2, after, before), at(4, after, before)], [0, 1, 3]);
  // Another item's numbers stay, and so do the ends that have none.
  equal(renumbered({ dimensions: [line(3)] }, "K2", before, after).dimensions[0].first.index, 3);
  equal(renumbered({ dimensions: [line(3)] }, "K1", before, after).dimensions[0].second, { item: "K1" });
});

test("only a dimension line is one", () => {
  const document = { ...plate(), dimensions: [{ id: "N1", first: { item: "P1" }, second: { item: "P2" } }] };
  equal(dimensionOf(document, "N1")?.id, "N1");
  equal(dimensionOf(document, "P1"), null);
});
