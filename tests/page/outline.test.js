import { close, equal, ok, test } from "./harness.js";
import { plate } from "./plate.js";
import { along, edgeAt, nearOutline, outlineBox, outlineData, outlinePoints, rowsOf } from "/static/geometry/outline.js";
import { roundedClosed } from "/static/geometry/path.js";
import { selectable, outlineOf } from "/static/model/document.js";
import { remove } from "/static/model/edit.js";
import { followersOf, leadersChanged, withFollowers } from "/static/model/following.js";
import { cornerPulled, outlineTurned, partMoved, sidePulled, tidied, withOutline } from "/static/model/outlines.js";
import * as polygons from "/static/model/polygons.js";
import { pivotOf, turn, turnable } from "/static/model/turning.js";

const polygon = (...corners) => ({ shape: "polygon", vertices: corners.map(([x_mm, y_mm, more]) => ({ x_mm, y_mm, ...more })) });
const places = (outline) => outline.vertices.map((v) => [v.x_mm, v.y_mm]);
const square = polygon([0, 0], [100, 0], [100, 60], [0, 60]);

// Plane geometry, by hand.
test("an edge is moved along its neighbours, which keep their direction", () => {
  equal(places(polygons.edgeMoved(square, 1, [110, 5])), [[0, 0], [110, 0], [110, 60], [0, 60]]);
  const slanted = polygon([0, 0], [100, 0], [120, 60], [0, 60]);
  // The rear edge up by 30: the slanted side goes on to (130, 90).
  equal(places(polygons.edgeMoved(slanted, 2, [40, 90])), [[0, 0], [100, 0], [130, 90], [0, 90]]);
});

test("a corner is put in, moved, rounded and taken out", () => {
  const more = polygons.cornerInserted(square, 0, [50, 0]);
  equal(places(more), [[0, 0], [50, 0], [100, 0], [100, 60], [0, 60]]);
  equal(places(polygons.cornerMoved(more, 1, [50, -10]))[1], [50, -10]);
  equal(polygons.cornerRemoved(more, 1), square);
  equal(polygons.cornerRounded(square, 2, 5).vertices[2].corner_radius_mm, 5);
  ok(!("corner_radius_mm" in polygons.cornerRounded(polygons.cornerRounded(square, 2, 5), 2, 0).vertices[2]));
  const triangle = polygon([0, 0], [10, 0], [0, 10]);
  ok(polygons.cornerRemoved(triangle, 0) === triangle);
});

test("an edge swells outwards whichever way the corners run", () => {
  // A chord of 100 that rises 50 is half a circle: bulge 1.
  close(polygons.arched(square, 0, 50).vertices[0].bulge, 1);
  const other = polygon([0, 60], [100, 60], [100, 0], [0, 0]);
  close(polygons.arched(other, 0, 50).vertices[0].bulge, -1);
  close(polygons.archOf(polygons.arched(other, 0, 12), 0), 12);
  ok(!("bulge" in polygons.arched(polygons.arched(square, 0, 50), 0, 0).vertices[0]));
});

test("an arc is parted into two of the same circle", () => {
  const half = polygons.arched(square, 0, 50);
  const parted = polygons.cornerInserted(half, 0, [50, -50]);
  close(parted.vertices[0].bulge, Math.tan(Math.PI / 8));
  close(parted.vertices[1].bulge, Math.tan(Math.PI / 8));
  equal([parted.vertices[1].x_mm, parted.vertices[1].y_mm], [50, -50]);
  // Another place of it, 30 degrees on: the whole angle stays 180 degrees.
  const [x, y] = [50 - 50 * Math.cos(Math.PI / 6), -50 * Math.sin(Math.PI / 6)];
  const third = polygons.cornerInserted(half, 0, [x, y]).vertices;
  close(4 * Math.atan(third[0].bulge), Math.PI / 6, 1e-5);
  close(4 * (Math.atan(third[0].bulge) + Math.atan(third[1].bulge)), Math.PI, 1e-5);
});

test("one side is pulled and the others stay; the opposite corner stays", () => {
  const box = { shape: "rectangle", x_mm: 50, y_mm: 30, width_mm: 100, depth_mm: 60 };
  equal(sidePulled(box, 1, [130, 10]), { ...box, x_mm: 65, width_mm: 130 });
  equal(sidePulled(box, 0, [10, -20]), { ...box, y_mm: 20, depth_mm: 80 });
  equal(cornerPulled(box, 2, [120, 80]), { ...box, x_mm: 60, y_mm: 40, width_mm: 120, depth_mm: 80 });
  // Turned a quarter: its own right side looks to the rear.
  const turned = { ...box, turn_deg: 90 };
  equal(sidePulled(turned, 1, [50, 100]), { ...turned, y_mm: 40, width_mm: 120 });
  const slot = { shape: "slot", x_mm: 0, y_mm: 0, length_mm: 50, width_mm: 14 };
  equal(sidePulled(slot, 3, [-35, 3]), { ...slot, x_mm: -5, length_mm: 60 });
  equal(sidePulled(slot, 1, [-60, 0]).length_mm, 14);
});

test("the arrow keys move a corner, an edge, or a round outline as a whole", () => {
  equal(places(partMoved(square, { index: 2 }, 1, 2))[2], [101, 62]);
  equal(places(partMoved(square, { index: 1, edge: true }, 5, 3)), [[0, 0], [105, 0], [105, 60], [0, 60]]);
  equal(partMoved({ shape: "circle", x_mm: 1, y_mm: 1, diameter_mm: 4 }, { index: 0 }, 1, 0).x_mm, 2);
});

test("every outline can be given by its corners, and covers the same", () => {
  const area = (outline) => {
    const points = outlinePoints(outline);
    return points.reduce((sum, [x, y], i) => {
      const [ex, ey] = points[(i + 1) % points.length];
      return sum + (x * ey - y * ex) / 2;
    }, 0);
  };
  const round = polygons.asPolygon({ shape: "circle", x_mm: 5, y_mm: 5, diameter_mm: 20 });
  equal(round.vertices.length, 4);
  close(area(round), Math.PI * 100, 2.5);
  const slot = polygons.asPolygon({ shape: "slot", x_mm: 0, y_mm: 0, length_mm: 50, width_mm: 20, turn_deg: 30 });
  close(area(slot), 30 * 20 + Math.PI * 100, 2.5);
  const box = polygons.asPolygon({ shape: "rectangle", x_mm: 0, y_mm: 0, width_mm: 40, depth_mm: 20, corner_radius_mm: 4 });
  close(area(box), 800 - (4 - Math.PI) * 16, 0.5);
});

test("edges are found along their arcs; the plate and the floor are found, too", () => {
  const arched = polygons.arched(square, 0, 50);
  equal(edgeAt(arched, [50, -49], 2)?.index, 0);
  equal(edgeAt(square, [50, 30], 5), null);
  ok(nearOutline(arched, [50, -50], 1) && !nearOutline(square, [50, 30], 5));
  close(along([0, 0], [100, 0], 1, 0.5)[1], -50);
  ok(outlineOf(plate(), "plate") && selectable(plate(), "floor") && !selectable(plate(), "roof"));
  equal(withOutline(plate(), "plate", () => square).plate.outline, square);
});

test("rows and data of a rounded square", () => {
  const rows = rowsOf({ shape: "rectangle", x_mm: 0, y_mm: 0, width_mm: 20, depth_mm: 20, corner_radius_mm: 5 });
  equal(rows.length, 8);
  close(rows[0][2], Math.tan(Math.PI / 8));
  equal(roundedClosed([[0, 0], [10, 0], [10, 10], [0, 10]], [0, 0, 0, 0]).map((b) => b.radius), [0, 0, 0, 0]);
  equal(outlineData({ shape: "circle", x_mm: 5, y_mm: 5, diameter_mm: 4 }), "M7 5A2 2 0 0 1 3 5A2 2 0 0 1 7 5Z");
});

test("items turn as a rigid whole", () => {
  const about = [100, 100];
  const turned = turn(plate(), ["P1", "K1", "B1"], about, 90);
  const was = plate();
  const [p, q] = [was.ports[0], turned.ports[0]];
  equal([q.x_mm, q.y_mm], [100 - (p.y_mm - 100), 100 + (p.x_mm - 100)]);
  equal(turned.boards[0].turn_deg, ((was.boards[0].turn_deg ?? 0) + 90) % 360);
  equal(outlineTurned(square, [0, 0], 90).vertices[1], { x_mm: 0, y_mm: 100 });
  equal(outlineTurned({ shape: "rectangle", x_mm: 10, y_mm: 0, width_mm: 4, depth_mm: 2 }, [0, 0], -90).turn_deg, 270);
  ok(turnable(was, "B1") && !turnable(was, "P1") && !turnable(was, "B2"), "what is held turns with its holder");
  equal(pivotOf(was, ["P1"]), [p.x_mm, p.y_mm]);
});

test("the box around an outline has its arcs' outermost places", () => {
  // A half disc on a chord of 100 mm, by plane geometry: it reaches 50 mm below its chord.
  const half = polygon([0, 0, { bulge: 1 }], [100, 0]);
  equal(outlineBox(half).map((v) => Math.round(v * 1e6) / 1e6), [0, -50, 100, 0]);
  // The other way about, and a quarter about the origin that reaches no farther than its ends.
  equal(outlineBox(polygon([0, 0, { bulge: -1 }], [100, 0])).map((v) => Math.round(v * 1e6) / 1e6), [0, 0, 100, 50]);
  const quarter = polygon([10, 0, { bulge: Math.tan(Math.PI / 8) }], [0, 10], [0, 0]);
  equal(outlineBox(quarter).map((v) => Math.round(v * 1e6) / 1e6), [0, 0, 10, 10]);
  // A second method: the outline in short steps lies within, and comes near each side.
  const slot = { shape: "slot", x_mm: 40, y_mm: 30, length_mm: 60, width_mm: 16, turn_deg: 33 };
  for (const outline of [slot, { ...slot, shape: "rectangle", width_mm: 60, depth_mm: 16, corner_radius_mm: 5 }, half]) {
    const [xs, ys] = [0, 1].map((axis) => outlinePoints(outline).map((p) => p[axis]));
    const rough = [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
    outlineBox(outline).forEach((side, i) => ok(Math.abs(side - rough[i]) < 0.3 && (i < 2 ? side <= rough[i] + 1e-9 : side >= rough[i] - 1e-9)));
  }
});

test("what follows a thing moves along with it, with what holds it, and is cut loose when it goes", () => {
  const document = { ...plate(), cutouts: [{ id: "K9", outline: square, follows: { item: "B2" } }] };
  equal(withFollowers(document, ["B1"]), ["B1", "K9"]);
  equal(withFollowers(document, ["P1"]), ["P1"]);
  // What follows is moved by what it follows, never away from it.
  equal(withFollowers(document, ["K9"]), []);
  equal(withFollowers(document, ["K9", "P1"]), ["P1"]);
  equal(withFollowers(document, ["K9", "B1"]), ["K9", "B1"]);
  // A card that its riser holds is not moved by itself, nor is what follows it.
  equal(withFollowers(document, ["B2"]), ["B2"]);
  equal(withFollowers({ ...document, boards: document.boards.map((b) => ({ ...b, locked: true })) }, ["B1"]), ["B1"]);
  equal(followersOf(document, "B2"), ["K9"]);
  ok(leadersChanged(document, { ...document, boards: document.boards.map((b) => ({ ...b })) }));
  ok(!leadersChanged(document, { ...document, ports: [] }));
  ok(!("follows" in remove(document, ["B2"]).cutouts[0]));
});

test("an answered outline is written without its defaults", () => {
  equal(tidied(polygon([0, 0, { bulge: 0, corner_radius_mm: 0 }], [1, 0, { bulge: 0.5, corner_radius_mm: 0 }])), polygon([0, 0], [1, 0, { bulge: 0.5 }]));
  equal(tidied({ shape: "rectangle", x_mm: 0, y_mm: 0, width_mm: 1, depth_mm: 1, turn_deg: 0 }), { shape: "rectangle", x_mm: 0, y_mm: 0, width_mm: 1, depth_mm: 1 });
});
