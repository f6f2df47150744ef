import { close, equal, ok, test } from "./harness.js";
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
  const once = arrange.mirror(plate(), ["K1", "P2"], { axis: "x", at: 200 });
  equal(find(once.document, once.ids[0]).item.outline.x_mm, 250);
  const twice = arrange.mirror(once.document, once.ids, { axis: "x", at: 200 });
  equal(find(twice.document, twice.ids[0]).item.outline, plate().cutouts[0].outline);
});

test("a mirrored arc bulges to the same side of its outline", () => {
  const vertices = [
    { x_mm: 0, y_mm: 0, bulge: 1 },
    { x_mm: 10, y_mm: 0 },
    { x_mm: 10, y_mm: 10 },
  ];
  const document = { ...plate(), cutouts: [{ id: "K1", outline: { shape: "polygon", vertices } }] };
  const mirrored = arrange.mirror(document, ["K1"], { axis: "x", at: 0 });
  const found = find(mirrored.document, mirrored.ids[0]).item.outline.vertices;
  const arc = found.findIndex((v) => v.bulge);
  // The half circle still joins the images of (0, 0) and (10, 0), and the outline still runs counter-clockwise.
  equal(
    [found[arc].x_mm, found[(arc + 1) % 3].x_mm].sort((a, b) => a - b),
    [-10, 0],
  );
  equal(found[arc].bulge, 1);
});

// Extents as the server gives them: left, front, right, rear.
const around = ([x, y], r) => [x - r, y - r, x + r, y + r];

test("align by edges and by centres of different sizes", () => {
  const extents = { P1: around([100, 100], 10), P2: around([200, 200], 6) };
  equal(find(arrange.align(plate(), ["P1", "P2"], "rear", extents), "P2").item.y_mm, 104);
  equal(find(arrange.align(plate(), ["P1", "P2"], "left", extents), "P2").item.x_mm, 96);
  equal(find(arrange.align(plate(), ["P1", "P2"], "centre", extents), "P2").item.y_mm, 100);
  equal(arrange.align(plate(), ["P1", "P2"], "rear", { P1: null, P2: null }), plate());
});

test("space evenly, whatever the order of the selection", () => {
  const three = arrange.copy(plate(), ["P2"], 60, 0).document;
  const extents = { P1: around([100, 100], 10), P2: around([200, 200], 10), P8: around([260, 200], 10) };
  const spaced = arrange.space(three, ["P2", "P8", "P1"], "x", extents);
  equal(
    ["P1", "P2", "P8"].map((id) => find(spaced, id).item.x_mm),
    [100, 180, 260],
  );
});

// A board of 100 by 60 about its own corner; corners by hand, as `test_gaps.py` has them for the server.
test("a turned board's mirror image covers the mirror image of what it covers", () => {
  const cover = ({ x_mm: x, y_mm: y, turn_deg = 0 }) => {
    const [c, s] = [Math.cos((turn_deg * Math.PI) / 180), Math.sin((turn_deg * Math.PI) / 180)];
    const corners = [
      [0, 0],
      [100, 0],
      [100, 60],
      [0, 60],
    ].map(([u, v]) => [x + u * c - v * s, y + u * s + v * c]);
    const [xs, ys] = [0, 1].map((k) => corners.map((corner) => corner[k]));
    return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
  };
  for (const turn_deg of [0, 30, 90, 200]) {
    for (const axis of ["x", "y"]) {
      const line = { axis, at: 150 };
      const board = { id: "B9", x_mm: 200, y_mm: 150, turn_deg, width_mm: 100, depth_mm: 60 };
      const document = { ...plate(), boards: [board] };
      const made = arrange.mirror(document, ["B9"], line);
      const [{ to }] = made.pairs;
      const before = { B9: { box: cover(board), heights: [0, 1] } };
      const after = { [to]: { box: cover(find(made.document, to).item), heights: [0, 1] } };
      const done = arrange.mirroredOutlines(made.document, made.pairs, line, before, after);
      const [left, front, right, rear] = cover(board);
      const wanted = axis === "x" ? [300 - right, front, 300 - left, rear] : [left, 300 - rear, right, 300 - front];
      cover(find(done, to).item).forEach((value, i) => close(value, wanted[i], 1e-5));
    }
  }
});

test("what stands on edge keeps its height when it is mirrored", () => {
  const board = {
    id: "B9",
    x_mm: 0,
    y_mm: 0,
    z_mm: 40,
    posture: "standing",
    roll_deg: 90,
    width_mm: 100,
    depth_mm: 60,
  };
  const made = arrange.mirror({ ...plate(), boards: [board] }, ["B9"], { axis: "x", at: 0 });
  const [{ to }] = made.pairs;
  equal(find(made.document, to).item.roll_deg, 270);
  // Rolled the other way about its corner it would hang down as far as it stood up.
  const before = { B9: { box: [-60, -1, 0, 1], heights: [40, 140] } };
  const after = { [to]: { box: [0, -1, 60, 1], heights: [-60, 40] } };
  const done = arrange.mirroredOutlines(made.document, made.pairs, { axis: "x", at: 0 }, before, after);
  equal(find(done, to).item.z_mm, 140);
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
