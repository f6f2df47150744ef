import { close, equal, test } from "./harness.js";
import { reshaped } from "/static/model/shapes.js";

const at = { x_mm: 10, y_mm: 20 };
const rectangle = { shape: "rectangle", ...at, width_mm: 40, depth_mm: 20, corner_radius_mm: 3 };

// Plane geometry, by hand.
test("a rectangle becomes a circle about its middle, a slot as long, a polygon with its corners and their radius", () => {
  equal(reshaped(rectangle, "circle"), { shape: "circle", ...at, diameter_mm: 40 });
  equal(reshaped(rectangle, "slot"), { shape: "slot", ...at, length_mm: 40, width_mm: 20 });
  const polygon = reshaped(rectangle, "polygon");
  equal(polygon.vertices[0], { x_mm: -10, y_mm: 10, corner_radius_mm: 3 });
  equal(polygon.vertices.length, 4);
});

test("a rectangle deeper than wide becomes a slot on end, as a slot is never shorter than wide", () => {
  const slot = reshaped({ ...rectangle, width_mm: 10 }, "slot");
  equal([slot.length_mm, slot.width_mm, slot.turn_deg], [20, 10, 90]);
});

// DXF reference: the bulge is the tangent of a quarter of the arc's angle, so tan 22.5° for a quarter circle, 1 for a half.
test("a circle and a slot become polygons of arcs", () => {
  const round = reshaped({ shape: "circle", ...at, diameter_mm: 8 }, "polygon");
  round.vertices.forEach((v) => close(v.bulge, Math.SQRT2 - 1, 1e-12));
  const slot = reshaped({ shape: "slot", ...at, length_mm: 30, width_mm: 10 }, "polygon");
  equal(slot.vertices, [
    { x_mm: 0, y_mm: 15 },
    { x_mm: 20, y_mm: 15, bulge: 1 },
    { x_mm: 20, y_mm: 25 },
    { x_mm: 0, y_mm: 25, bulge: 1 },
  ]);
});

test("the same shape stays as it is, and a line of a polygon gets some width", () => {
  equal(reshaped(rectangle, "rectangle") === rectangle, true);
  const flat = { shape: "polygon", vertices: [{ x_mm: 0, y_mm: 5 }, { x_mm: 30, y_mm: 5 }] };
  equal(reshaped(flat, "rectangle"), { shape: "rectangle", x_mm: 15, y_mm: 5, width_mm: 30, depth_mm: 1 });
});
