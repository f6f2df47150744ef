import { equal, frozen, ok, test } from "./harness.js";
import { plate } from "./plate.js";
import { remove } from "/static/model/edit.js";
import { tieOf, tied, whyNotTied } from "/static/model/ties.js";
import { removePoint, renamePoint } from "/static/survey/edits.js";

const point = (id, x, y, loose = false) => ({ id, x_mm: x, y_mm: y, sigma_x_mm: 0.1, sigma_y_mm: 0.1, loose });
const ADJUSTED = [point("E", 120.5, 180), point("F", 300, 140), point("G", 10, 10, true)];

/** A board, a device that it holds, an obstacle that the survey draws, and three points. */
const measured = (more = {}) =>
  frozen({
    ...plate(),
    boards: [{ id: "MB" }],
    devices: [{ id: "CPU", kind: "block", held_by: "MB" }],
    survey: { points: [{ id: "E" }, { id: "F" }, { id: "G" }], outlines: [{ id: "O7", corners: ["E", "F", "G"] }] },
    ...more,
  });

test("a tie notes where its points are, and one to undetermined points notes nothing", () => {
  const made = tied(measured(), "MB", ["E", "F"], ADJUSTED);
  equal(made.ties, [
    { item: "MB", points: ["E", "F"], places: [{ x_mm: 120.5, y_mm: 180 }, { x_mm: 300, y_mm: 140 }] },
  ]);
  equal(tied(made, "MB", ["E", "G"], ADJUSTED).ties, [{ item: "MB", points: ["E", "G"] }]);
  equal(tieOf(made, "MB")?.points, ["E", "F"]);
  ok(!("ties" in tied(made, "MB", [])));
});

test("what is held, drawn by the survey, or no hardware is not tied", () => {
  equal(whyNotTied(measured(), "MB"), "");
  ok(whyNotTied(measured(), "CPU")?.includes("tie MB"));
  equal(whyNotTied(measured(), "P1"), null);
  ok(whyNotTied(measured({ survey: {} }), "MB")?.includes("no points yet"));
});

test("a point that is renamed or removed takes its ties along", () => {
  const made = frozen(tied(tied(measured(), "MB", ["E", "F"], ADJUSTED), "CPU", ["E"], ADJUSTED));
  equal(
    renamePoint(made, "E", "E9").ties?.map((tie) => tie.points),
    [["E9", "F"], ["E9"]],
  );
  // Without E the board keeps F with its place; the device has nothing left to be tied to.
  equal(removePoint(made, "E").ties, [{ item: "MB", points: ["F"], places: [{ x_mm: 300, y_mm: 140 }] }]);
  ok(!("ties" in removePoint(removePoint(made, "E"), "F")));
  equal(remove(made, ["MB"]).ties, [{ item: "CPU", points: ["E"], places: [{ x_mm: 120.5, y_mm: 180 }] }]);
});
