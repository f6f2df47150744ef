import { equal, ok, test } from "./harness.js";
import { UNITS } from "/static/model/quantity.js";
import { begun, columnsNamed, columnsOf, complete, parseTable, strangeUnit, unitIn } from "/static/model/rows.js";

test("a table from a spreadsheet, from a CSV file, and numbers with blanks between", () => {
  equal(parseTable("1\t0,9\n2\t3,1\n").cells, [["1", "0,9"], ["2", "3,1"]]);
  equal(parseTable('flow;pressure\r\n"1,5";2,9\r\n').cells, [["1,5", "2,9"]]);
  equal(parseTable("# a comment\n1,0.9\n2,3.1").cells, [["1", "0.9"], ["2", "3.1"]]);
  equal(parseTable("1 0.9\n2  3.1").cells, [["1", "0.9"], ["2", "3.1"]]);
  equal(parseTable("1,5 2,9\n2,5 3,9").cells, [["1,5", "2,9"], ["2,5", "3,9"]]);
  equal(parseTable("").cells, []);
});

test("decimal commas in quotation marks, empty lines and a line of units beneath the names", () => {
  // RFC 4180, 2.6: a comma within quotation marks parts nothing.
  equal(parseTable('"1,5","2,9"\n"2,5","3,9"').cells, [["1,5", "2,9"], ["2,5", "3,9"]]);
  const table = parseTable("Flow;Pressure\nl/h;mbar\n\n60;9\n;;\n120;30\n;\n");
  equal([table.head, table.cells, table.lines], [["Flow l/h", "Pressure mbar"], [["60", "9"], ["120", "30"]], [4, 6]]);
});

test("columns are taken by the name or unit above them, in whatever order they come", () => {
  const columns = [{ label: "Flow", type: "flow" }, { label: "Pressure", type: "pressure" }];
  const of = (head) => columnsNamed(head, columns, UNITS);
  equal(of(["Pressure (kPa)", "Flow (l/min)"]), [1, 0]);
  equal(of(["No.", "l/h", "mbar", "remark"]), [-1, 0, 1, -1]);
  equal(of(["Q", "H"]), [0, 1]);
  equal([of(["Head (ft)", "Flow"]), of(["No.", "Flow", "Head"])], [[1, 0], [-1, 0, -1]]);
  equal(of([]), []);
  equal(of(["Flow", "Flow"]), null);
});

test("the head of a column names its unit", () => {
  const { head } = parseTable("Flow (l/h), Pressure [mbar]\n60, 9");
  equal(head, ["Flow (l/h)", "Pressure [mbar]"]);
  equal([unitIn(head[0], UNITS.flow), unitIn(head[1], UNITS.pressure)], ["l/h", "mbar"]);
  equal(unitIn("Head mH2O", UNITS.pressure), "mh2o");
  equal(unitIn("Pressure", UNITS.pressure), "");
});

test("a unit that the column's kind does not have is told, the name of an axis is not", () => {
  equal([strangeUnit("Head (m)", UNITS.pressure), strangeUnit("Head [ft]", UNITS.pressure)], ["m", "ft"]);
  equal([strangeUnit("Flow (m3/h)", UNITS.flow), strangeUnit("Along (u)", UNITS.length), strangeUnit("Port", {})], ["", "", ""]);
});

test("a new row is complete when it holds what the format asks for; its id is made", () => {
  ok(!complete("CurvePoint", { flow_l_min: 1 }));
  ok(complete("CurvePoint", { flow_l_min: 0, pressure_kpa: 0 }));
  ok(!complete("DevicePort", {}));
  ok(complete("DevicePort", { u_mm: 5 }));
  equal(begun("DevicePort", { u_mm: 5 }, [{ id: "in" }, { id: "p3" }], "p"), { id: "p4", u_mm: 5 });
  equal(begun("CurvePoint", { flow_l_min: 1 }, [], "r"), { flow_l_min: 1 });
  ok(columnsOf("CurvePoint").join() === "flow_l_min,pressure_kpa");
});
