import { close, equal, ok, test, throws } from "./harness.js";
import { faultOf, format, parseMove, parseQuantity } from "/static/model/quantity.js";

// A US gallon is 3.785411784 l (NIST SP 811, appendix B); a metre of water 9.80665 kPa, a mbar 0.1 kPa.
test("units of data sheets, as they are written there", () => {
  const flow = (text) => parseQuantity(text, "flow");
  const pressure = (text) => parseQuantity(text, "pressure");
  for (const text of ["60 l/h", "60 L/H", "60lph", "0.06 m3/h", "0.06 m³/h", "1 lpm"]) close(flow(text), 1, 1e-12);
  close(flow("1 gpm"), 3.785411784, 1e-9);
  close(flow("60 gph"), 3.785411784, 1e-9);
  for (const text of ["1 bar", "1000 mbar", "1000 hPa", "100000 Pa"]) close(pressure(text), 100, 1e-9);
  for (const text of ["1 mH2O", "1 mH₂O"]) close(pressure(text), 9.80665, 1e-9);
  for (const [text, kind] of [["3 mbar", "flow"], ["3 l/h", "pressure"], ["3 ft", "pressure"]])
    ok(faultOf(() => parseQuantity(text, kind)) !== "", text);
});

test("sums, products and brackets", () => {
  equal(parseQuantity("12.5+20.32"), 32.82);
  equal(parseQuantity("2*(3+4)"), 14);
  equal(parseQuantity("100/8-2"), 10.5);
  equal(parseQuantity("-5"), -5);
  equal(parseQuantity("12,5"), 12.5);
});

// An inch is 25.4 mm exactly (international yard and pound agreement, 1959).
test("inches stay exact", () => {
  equal(parseQuantity("0.8 in"), 20.32);
  equal(parseQuantity("3/4 in"), 19.05);
  equal(parseQuantity("1 3/4 in"), 44.45);
  equal(parseQuantity('6.25"'), 158.75);
  equal(parseQuantity("12.5 + 0.8 in"), 32.82);
  equal(parseQuantity("10 thou"), 0.254);
  equal(parseQuantity("2 in * 3"), 152.4);
  equal(parseQuantity("2", "length", "in"), 50.8);
  equal(parseQuantity("2 mm", "length", "in"), 2);
});

test("other units", () => {
  equal(parseQuantity("1.5 cm"), 15);
  equal(parseQuantity("240 l/h", "flow"), 4);
  equal(parseQuantity("0.5 bar", "pressure"), 50);
  close(parseQuantity("3.14159265358979 rad", "angle"), 180, 1e-9);
  equal(parseQuantity("0.3 kW", "heat"), 300);
});

test("mistakes are said in a sentence", () => {
  throws(() => parseQuantity(""), /Type a number/);
  throws(() => parseQuantity("12 apples"), /neither a number nor a unit/);
  throws(() => parseQuantity("5 +"), /stops in the middle/);
  throws(() => parseQuantity("(5"), /not closed/);
  throws(() => parseQuantity("5/0"), /divided by 0/);
  throws(() => parseQuantity("2 mm * 3 mm"), /given already/);
  throws(() => parseQuantity("1e999"), /neither a number|too large/);
});

test("moves in words", () => {
  equal(parseMove("30 mm to the front"), { dx: 0, dy: -30 });
  equal(parseMove("left 12.5+3"), { dx: -15.5, dy: 0 });
  equal(parseMove("3/4 in right, 10 rear"), { dx: 19.05, dy: 10 });
  equal(parseMove("5 to the left and 2 to the rear"), { dx: -5, dy: 2 });
  throws(() => parseMove("30 up"), /which way/);
  throws(() => parseMove(" "), /how far/);
});

test("numbers as fields show them", () => {
  equal(format(20.32), "20.32");
  equal(format(20), "20");
  equal(format(-0.0001), "0");
  equal(format(25.4, "in"), "1");
  equal(format(100), "100");
  // Without decimals its noughts stay.
  equal(format(280.2, "mm", 0), "280");
  equal(format(0.2, "mm", 0), "0");
  equal(format(10.05, "mm", 1), "10.1");
});
