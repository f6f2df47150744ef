import { equal, frozen, ok, test } from "./harness.js";
import { plate } from "./plate.js";
import { handReading } from "/static/canvas/modes/ghost.js";
import { restFits, withReading } from "/static/model/fitreadings.js";
import { progressOf } from "/static/steps/progress.js";

test("a port has one reading, and what is not said again stays", () => {
  const once = withReading(frozen(plate()), "P1", { dx_mm: 1.5, dy_mm: 0 });
  const twice = withReading(frozen(once), "P1", { dy_mm: -2 });
  equal(twice.fit_readings, [{ port: "P1", dx_mm: 1.5, dy_mm: -2 }]);
  ok(!("fit_readings" in withReading(twice, "P1", null)), "an empty list is left behind");
});

test("the rest fits: every port with a tube that was not read yet, and no other", () => {
  const [two, three] = ["P2", "P3"].map((id) => ({ ...plate().ports.find((port) => port.id === id), serves: `D1.${id}` }));
  const document = frozen({ ...plate(), ports: [...plate().ports.slice(0, 1), two, three, { id: "P4" }] });
  const read = withReading(document, "P2", { dx_mm: 1, dy_mm: 2 });
  equal(restFits(frozen(read)).fit_readings, [
    { port: "P2", dx_mm: 1, dy_mm: 2 },
    { port: "P1", dx_mm: 0, dy_mm: 0 },
    { port: "P3", dx_mm: 0, dy_mm: 0 },
  ]);
});

test("a hand tells tenths of a millimetre", () => {
  equal(handReading(1.234, -0.04), [1.2, 0]);
});

test("each step says how far it is", () => {
  const bare = { ...plate(), channels: [], devices: [] };
  const open = progressOf(bare, null);
  equal([open.channels.done, open["test-piece"].words, open.check.words], [false, "none cut", "checking"]);
  const findings = ["error", "error", "warning"].map((level, i) => ({
    rule: "r",
    level,
    items: [`P${i}`],
    accepted: "",
  }));
  const checked = progressOf(bare, { findings, flow: null }, [{ kind: "test-piece" }]);
  equal([checked.check.words, checked["hand-off"].words], ["2 to fix", "blocked"]);
  equal([checked["test-piece"].words, checked["test-piece"].done], ["1 revision", true]);
});
