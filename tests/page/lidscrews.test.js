import { equal, frozen, test } from "./harness.js";
import { plate } from "./plate.js";
import { inTheWay, lidScrews, withoutLoose, withScrews } from "/static/model/lidscrews.js";

const hole = (id, use, more = {}) => ({ id, x_mm: 100, y_mm: 100, use, ...more });
const HOLES = [hole("S1", "lid"), hole("S2", "lid", { locked: true }), hole("H1", "mount")];
const screwed = () => frozen({ ...plate(), holes: HOLES });
const ids = (rows) => rows.map((row) => row.id);

test("lid screws go but for those that are locked, and no other hole goes", () => {
  equal(ids(lidScrews(screwed())), ["S1", "S2"]);
  equal(ids(withoutLoose(screwed()).holes), ["S2", "H1"]);
  const bare = frozen({ ...plate(), holes: [HOLES[2]] });
  equal(withoutLoose(bare) === bare, true);
});

test("screws that were designed become holes, with their thread and grooves", () => {
  const made = withScrews(frozen({ ...plate(), holes: [], seal: { screw: "M4" } }), {
    holes: [{ id: "X1", x_mm: 80, y_mm: 90, use: "lid" }],
    screw: "M3",
    grooves: "shared",
  });
  equal(made.holes.map(({ x_mm, y_mm, use }) => [x_mm, y_mm, use]), [[80, 90, "lid"]]);
  equal([made.seal.screw, made.seal.grooves], ["M3", "shared"]);
});

test("a loose screw is in the way of what an open error names with it", () => {
  const error = (items, more = {}) => ({ level: "error", items, ...more });
  equal(inTheWay(screwed(), [error(["C1", "S1"]), error(["C1", "S2"])]), { screws: ["S1"], of: ["C1"] });
  equal(inTheWay(screwed(), [error(["C1", "S1"], { accepted: "so" }), error(["S1"])]), { screws: [], of: [] });
});
