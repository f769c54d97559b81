import assert from "node:assert/strict";
import { test } from "node:test";
import { degrees, measured, percent, read, show } from "../source/units.ts";

/** Lengths as `show` of model/units.py says them: written by running it on these numbers. */
const SAID: [number, string, string][] = [
  [0, "0 mm", "0 in"], [-0, "-0 mm", "0 in"], [0.04, "0 mm", "0 in"], [-0.04, "-0 mm", "0 in"], [0.05, "0.1 mm", "0 in"],
  [0.25, "0.2 mm", "0 in"], [0.75, "0.8 mm", "0 in"], [-0.25, "-0.2 mm", "0 in"], [1.25, "1.2 mm", "1/16 in"],
  [12.35, "12.3 mm", "1/2 in"], [100, "100 mm", "3 15/16 in"], [99.95, "100 mm", "3 15/16 in"], [0.7937, "0.8 mm", "0 in"],
  [0.79375, "0.8 mm", "0 in"], [2.38125, "2.4 mm", "1/8 in"], [3.96875, "4 mm", "1/8 in"], [1.5875, "1.6 mm", "1/16 in"],
  [25.4, "25.4 mm", "1 in"], [38.1, "38.1 mm", "1 1/2 in"], [-38.1, "-38.1 mm", "-1 1/2 in"], [24.6, "24.6 mm", "15/16 in"],
  [24.60625, "24.6 mm", "1 in"], [25, "25 mm", "1 in"], [304.8, "304.8 mm", "12 in"], [2540, "2540 mm", "100 in"],
  [1003.3, "1003.3 mm", "39 1/2 in"], [0.1, "0.1 mm", "0 in"], [-1, "-1 mm", "-1/16 in"], [63.499, "63.5 mm", "2 1/2 in"],
  [87391.25, "87391.2 mm", "3440 5/8 in"], [100000, "100000 mm", "3937 in"], [6.35, "6.3 mm", "1/4 in"], [3.175, "3.2 mm", "1/8 in"],
];

test("lengths are said as the report says them", () => {
  for (const [mm, metric, inches] of SAID) {
    assert.equal(show(mm, "mm"), metric);
    assert.equal(show(mm, "in"), inches);
  }
});

test("a measured length in inches carries the thousandth", () => {
  assert.equal(measured(87.3125, "in"), "3 7/16 in (3.438)");
  assert.equal(measured(25.4 * 0.0625, "in"), "1/16 in (0.062)"); // 0.0625 is a tie: to the even digit
  assert.equal(measured(-10, "mm"), "10 mm");
  assert.equal(measured(0.3, "in"), "0 in (0.012)");
});

test("angles to a tenth of a degree, shares in hundredths", () => {
  assert.equal(degrees(Math.PI / 2), "90°");
  assert.equal(degrees(Math.PI / 8), "22.5°");
  assert.equal(percent(0.4), "40 %");
});

test("a length is read out of the words that say it", () => {
  assert.equal(read("1.8 mm"), 1.8);
  assert.ok(Math.abs(read("3 7/16 in")! - 87.3125) < 1e-9);
  assert.ok(Math.abs(read("0.683 in")! - 17.3482) < 1e-9);
  assert.ok(Math.abs(read("-1/16 in")! + 1.5875) < 1e-9);
  for (const text of ["", "11.8 kg (26 lb)", "3", "1/0 in", "0.5 °", "1 mm or so"]) assert.equal(read(text), null, text);
});
