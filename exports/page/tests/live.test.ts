import assert from "node:assert/strict";
import { test } from "node:test";
import { stepped } from "../source/live/stepping.ts";
import type { NamedNumber } from "../source/walk.ts";

function number(kind: NamedNumber["kind"]): NamedNumber {
  return { key: "family.height", says: "height", group: "family", hint: "", text: "", kind, line: 1 };
}

/** Worked out by hand: an eighth of an inch, a millimetre, a degree, a piece; ten times or the whole with Shift. */
const LENGTHS: [string, "mm" | "in", 1 | -1, boolean, string | null][] = [
  ["8 ft 4 in", "in", 1, false, "8 ft 4 1/8 in"], ["8 ft 4 in", "in", 1, true, "8 ft 5 in"],
  ["8 ft", "in", -1, false, "7 ft 11 7/8 in"], ["7 ft 11 7/8 in", "in", 1, false, "8 ft"],
  ["7 1/2 in", "mm", 1, false, "7 5/8 in"], ["4 1/4", "in", -1, false, "4 1/8"], ["1/8 in", "in", -1, false, "0 in"],
  ["5/64 in", "in", 1, false, "13/64 in"], ["7.5", "in", 1, false, "7.625"], ["62", "in", 1, true, "63"],
  ["2.3 in", "in", 1, false, "2.425 in"], ["8' 4\"", "in", 1, false, "8 ft 4 1/8 in"], ["11 7/8 in", "in", 1, false, "12 in"],
  ["38 mm", "in", 1, false, "39 mm"], ["38", "mm", -1, true, "28"], ["38.25 mm", "mm", 1, false, "39.25 mm"],
  ["2.1 m", "mm", 1, false, "2.11 m"], ["1.2 m", "mm", -1, true, "1.1 m"], ["4 cm", "mm", 1, false, "4.1 cm"],
  ["-3 mm", "mm", 1, false, "-2 mm"], ["2 mm", "mm", -1, false, "1 mm"], ["-1/8 in", "in", 1, false, "0 in"], ["0.1 mm", "mm", 1, false, "0.2 mm"], ["0.25", "mm", -1, false, "0.15"],
  ["tall", "mm", 1, false, null], ["", "mm", 1, false, null], ["1/0 in", "in", 1, false, null], ["3 4", "mm", 1, false, null],
];

test("a length is stepped the way it is written", () => {
  for (const [text, unit, way, large, after] of LENGTHS) {
    assert.equal(stepped(number("length"), text, unit, way, large), after, text);
  }
});

test("angles, counts and plain numbers are stepped by what they are", () => {
  assert.equal(stepped(number("angle"), "15 deg", "mm", 1, false), "16 deg");
  assert.equal(stepped(number("angle"), "7.5", "mm", -1, true), "2.5");
  assert.equal(stepped(number("count"), "20", "in", -1, false), "19");
  assert.equal(stepped(number("count"), "20", "in", 1, true), "25");
  assert.equal(stepped(number("number"), "45", "mm", 1, false), "46");
  assert.equal(stepped(number("number"), "0.25", "mm", 1, false), "0.26");
  assert.equal(stepped(number("number"), "many", "mm", 1, false), null);
});

test("a step and the step back are where one was", () => {
  for (const text of ["8 ft 4 in", "7 1/2 in", "38 mm", "2.15 m", "4 1/4", "62"]) {
    const there = stepped(number("length"), text, "in", 1, false)!;
    assert.equal(stepped(number("length"), there, "in", -1, false), text);
  }
});
