import { equal, ok, test } from "./harness.js";
import { plate } from "./plate.js";
import * as arrange from "/static/model/arrange.js";
import * as channels from "/static/model/centrelines.js";
import { cornersOf, find } from "/static/model/document.js";

test("copies join copies, and serve nothing", () => {
  const { document, ids } = arrange.copy(plate(), ["P1", "P2", "C1"], 20, -20);
  equal(ids, ["P8", "P9", "C2"]);
  const copied = find(document, "C2").item;
  equal([copied.start, copied.end], ["P8", "P9"]);
  equal(cornersOf(document, copied), [
    [120, 80],
    [120, 180],
    [220, 180],
  ]);
  ok(!("serves" in find(document, "P8").item));
});

test("a channel copied without its ports ends freely where they would be", () => {
  const { document } = arrange.copy(plate(), ["C1"], 5, 5);
  equal(cornersOf(document, find(document, "C2").item), [
    [105, 105],
    [105, 205],
    [205, 205],
  ]);
});

// The slot pitch of a board is 0.800 in, 20.32 mm (microATX Motherboard Interface Specification 1.2, section 2.3.1).
test("a row keeps an inch pitch exact", () => {
  const { document, ids } = arrange.row(plate(), ["P2"], 7, 20.32, 0);
  equal(ids.length, 6);
  equal(
    ids.map((id) => find(document, id).item.x_mm),
    [220.32, 240.64, 260.96, 281.28, 301.6, 321.92],
  );
});

test("mirrored twice is where it was", () => {
  const once = arrange.mirror(plate(), ["K1", "P2"], "x", 200);
  equal(find(once.document, once.ids[0]).item.outline.x_mm, 250);
  const twice = arrange.mirror(once.document, once.ids, "x", 200);
  equal(find(twice.document, twice.ids[0]).item.outline, plate().cutouts[0].outline);
});

test("a mirrored arc bulges to the same side of its outline", () => {
  const vertices = [
    { x_mm: 0, y_mm: 0, bulge: 1 },
    { x_mm: 10, y_mm: 0 },
    { x_mm: 10, y_mm: 10 },
  ];
  const document = { ...plate(), cutouts: [{ id: "K1", outline: { shape: "polygon", vertices } }] };
  const mirrored = arrange.mirror(document, ["K1"], "x", 0);
  const found = find(mirrored.document, mirrored.ids[0]).item.outline.vertices;
  const arc = found.findIndex((v) => v.bulge);
  // The half circle still joins the images of (0, 0) and (10, 0), and the outline still runs counter-clockwise.
  equal(
    [found[arc].x_mm, found[(arc + 1) % 3].x_mm].sort((a, b) => a - b),
    [-10, 0],
  );
  equal(found[arc].bulge, 1);
});

test("align and spread", () => {
  const aligned = arrange.align(plate(), ["P1", "P2"], "rear");
  equal(find(aligned, "P2").item.y_mm, 100);
  const three = arrange.copy(plate(), ["P2"], 60, 0).document;
  const spread = arrange.spread(three, ["P1", "P2", "P8"], "x");
  equal(
    ["P1", "P2", "P8"].map((id) => find(spread, id).item.x_mm),
    [100, 180, 260],
  );
});

test("corners go in, out, square and at 45°", () => {
  const inserted = channels.insertPoint(plate(), "C1", 1, [150, 230]);
  equal(cornersOf(inserted, inserted.channels[0]), [
    [100, 100],
    [100, 200],
    [150, 230],
    [200, 200],
  ]);
  const square = channels.straighten(inserted, "C1", 1, "square");
  equal(square.channels[0].points[1].y_mm, 200);
  const slanted = channels.straighten(plate(), "C1", 0, "slant");
  const [a, p, b] = cornersOf(slanted, slanted.channels[0]);
  const legs = [
    [p[0] - a[0], p[1] - a[1]],
    [b[0] - p[0], b[1] - p[1]],
  ];
  ok(
    legs.every(([x, y]) => x === 0 || y === 0 || Math.abs(x) === Math.abs(y)),
    JSON.stringify(legs),
  );
  equal(channels.removePoint(plate(), "C1", 0).channels[0].points, []);
});

test("a channel is drawn through ports and free places", () => {
  const { document, id } = channels.draw(plate(), ["P2", [250, 200], "P3"]);
  equal(find(document, id).item, {
    id: "C2",
    start: "P2",
    end: "P3",
    points: [{ x_mm: 250, y_mm: 200 }],
    width_mm: 10,
    depth_mm: 8,
    bend_radius_mm: 15,
  });
  equal(channels.draw(plate(), ["P2"]), null);
  equal(channels.draw(plate(), ["P2", "P2"]), null);
});

test("a branch put into a channel makes two of it", () => {
  const { document, id } = channels.branchAt(plate(), "C1", [103, 150]);
  const [first, second] = document.channels;
  equal([first.start, first.end, second.start, second.end], ["P1", id, id, "P2"]);
  equal(find(document, id).item, { id: "J1", x_mm: 100, y_mm: 150 });
  equal([first.points.length, second.points.length], [0, 1]);
});
