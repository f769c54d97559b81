/** The rule: places and steps there and back, and what there is room to draw. */

import assert from "node:assert/strict";
import { test } from "node:test";
import { placeAt, placeOf, ruleOf, stepAt, xAt } from "../source/order/geometry.ts";
import { pace } from "../source/order/player.ts";
import { finding } from "./made.ts";
import { STEPS, stage, staged, step, move } from "./staged.ts";

/** A walk of so many stages with so many steps each. */
function long(stages: number, each: number) {
  const steps = Array.from({ length: stages * each }, (_, k) => step("move", { stage: Math.floor(k / each), id: `${Math.floor(k / each) + 1}.${(k % each) + 1}` }));
  return staged({
    stages: Array.from({ length: stages }, (_, k) => stage({ number: k + 1, first: k * each, end: (k + 1) * each })),
    steps: [...steps, step("stands", { stage: null, id: "end" })],
  });
}

test("a whole place is the end of a step; the beginning is that of the first", () => {
  assert.deepEqual(stepAt(0, 5), { step: 0, share: 0 });
  assert.deepEqual(stepAt(1, 5), { step: 0, share: 1 });
  assert.deepEqual(stepAt(1.25, 5), { step: 1, share: 0.25 });
  assert.deepEqual(stepAt(5, 5), { step: 4, share: 1 });
  assert.deepEqual([stepAt(99, 5), stepAt(-1, 5), stepAt(NaN, 5)], [{ step: 4, share: 1 }, { step: 0, share: 0 }, { step: 0, share: 0 }]);
  for (const place of [0.5, 1, 2.75, 4, 5]) {
    const at = stepAt(place, 5);
    assert.equal(placeOf(at.step, at.share), place);
  }
});

test("a place on the rule and the same back; beyond its ends the ends", () => {
  assert.equal(xAt(0, 10, 120, 10), 10);
  assert.equal(xAt(5, 10, 120, 10), 60);
  assert.equal(xAt(10, 10, 120, 10), 110);
  assert.equal(placeAt(60, 10, 120, 10), 5);
  assert.deepEqual([placeAt(-50, 10, 120, 10), placeAt(500, 10, 120, 10)], [0, 10]);
});

test("with few steps every one has its tick, a stage a long one and a figure", () => {
  const rule = ruleOf(long(1, 4), 390, 16, 24);
  assert.equal(rule.ticks.length, 6);
  assert.deepEqual(rule.ticks.map((tick) => tick.length), ["stage", "step", "step", "step", "step", "stage"]);
  assert.deepEqual(rule.figures.map((figure) => figure.says), ["1"]);
});

test("with 400 steps ticks stay apart and figures do not touch, on a phone and on a desk", () => {
  for (const [width, walk] of [[390, long(8, 50)], [900, long(40, 10)], [320, long(100, 4)]] as const) {
    const { ticks, figures } = ruleOf(walk, width, 16, 24);
    const steps = ticks.filter((tick) => tick.length !== "stage").map((tick) => tick.x);
    for (let k = 1; k < steps.length; k++) assert.ok(steps[k]! - steps[k - 1]! >= 3.99 || ticks.some((tick) => tick.length === "stage" && tick.x > steps[k - 1]! && tick.x <= steps[k]!));
    for (let k = 1; k < figures.length; k++) assert.ok(figures[k]!.x - figures[k - 1]!.x >= 24);
    assert.ok(figures.every((figure) => figure.x + 24 <= width));
    assert.equal(figures[0]?.says, "1");
  }
});

test("findings are notches; those close together are one, as bad as the worst", () => {
  const walk = long(1, 40);
  walk.findings = [finding(1, "note"), finding(2, "stop"), finding(3, "warn")];
  walk.steps = walk.steps.map((one, k) => ({ ...one, findings: k === 10 ? [0] : k === 11 ? [1] : k === 30 ? [2, 9] : [] }));
  const { notches } = ruleOf(walk, 390, 16, 24);
  assert.deepEqual(notches.map(({ severity, count }) => [severity, count]), [["stop", 2], ["warn", 1]]);
});

test("a walk of one step has a rule too", () => {
  const rule = ruleOf(staged({ stages: [], steps: [step("stands", { stage: null })] }), 390, 16, 24);
  assert.equal(rule.ticks.length, 2);
  assert.ok(rule.ticks.every((tick) => Number.isFinite(tick.x)));
});

test("a move takes 1.2 s, a step in which nothing moves less; long stages go faster, never in a blink", () => {
  const moves = step("move", { moves: [move([0], [0, 0, 1], 1, 1)] });
  assert.equal(pace(moves, STEPS.length), 1.2);
  assert.ok(pace(step("clamp"), STEPS.length) < 1.2);
  assert.ok(pace(moves, 100) < pace(moves, 30));
  assert.equal(pace(moves, 4000), 0.35);
});
