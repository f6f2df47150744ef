import { equal, test } from "./harness.js";
import { resized } from "/static/model/outlines.js";

const at = { x_mm: 100, y_mm: 50 };

// Plane geometry, by hand: the middle stays, and the corner that is pulled comes to where it is let go.
test("a rectangle's corner is pulled to (130, 60): 60 by 20 about its middle", () => {
  const outline = { shape: "rectangle", ...at, width_mm: 40, depth_mm: 24, corner_radius_mm: 12 };
  equal(resized(outline, [130, 60]), { ...outline, width_mm: 60, depth_mm: 20, corner_radius_mm: 10 });
});

test("a turned one is pulled in its own axes", () => {
  const outline = { shape: "rectangle", ...at, width_mm: 40, depth_mm: 24, turn_deg: 90 };
  equal(resized(outline, [110, 80]), { ...outline, width_mm: 60, depth_mm: 20 });
});

test("a circle grows to where its edge is let go; a slot is never shorter than wide", () => {
  equal(resized({ shape: "circle", ...at, diameter_mm: 10 }, [103, 54]).diameter_mm, 10);
  const slot = resized({ shape: "slot", ...at, length_mm: 50, width_mm: 14 }, [105, 60]);
  equal([slot.length_mm, slot.width_mm], [20, 20]);
});

test("nothing becomes smaller than half a millimetre; a polygon is left alone", () => {
  equal(resized({ shape: "circle", ...at, diameter_mm: 10 }, [100, 50]).diameter_mm, 0.5);
  const polygon = { shape: "polygon", vertices: [{ x_mm: 0, y_mm: 0 }] };
  equal(resized(polygon, [5, 5]), polygon);
});
