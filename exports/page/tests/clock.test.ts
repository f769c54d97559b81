/** The clock of a running glue-up: minutes worked out by hand, open 15 and closed 20. */

import assert from "node:assert/strict";
import { test } from "node:test";
import { MINUTE, batches, canRun, counted, reading, stepsOf, touched, warnsAt } from "../source/order/clock.ts";
import type { Touch } from "../source/order/clock.ts";
import { STEPS, stage, step } from "./staged.ts";

const here = stage();
const steps = stepsOf(here, STEPS);
/** Touches every step up to a time table, minutes from the first; a spreading takes two. */
function after(...minutes: number[]): Touch[] {
  return minutes.reduce<Touch[]>((touches, minute) => touched(here, steps, touches, minute * MINUTE), []);
}
const read = (touches: Touch[], minute: number) => reading(here, steps, touches, minute * MINUTE);

test("a run goes up to where the glue is left to set", () => {
  assert.deepEqual(steps.map((one) => one.kind), ["ready", "move", "spread", "move", "spread", "move", "move", "clamp"]);
  assert.ok(canRun(here, STEPS));
  assert.ok(!canRun(stage({ first: 9, end: 12 }), STEPS));
});

test("each spreading is closed by the last move before the next", () => {
  assert.deepEqual(batches(steps), [{ spread: 2, last: 3 }, { spread: 4, last: 6 }]);
  const two = [step("spread"), step("spread"), step("move"), step("clamp")];
  assert.deepEqual(batches(two), [{ spread: 0, last: 2 }, { spread: 1, last: 2 }]);
  const held = [step("spread"), step("move"), step("hold"), step("clamp")];
  assert.deepEqual(batches(held), [{ spread: 0, last: 1 }]);
  assert.deepEqual(batches([step("spread")]), [{ spread: 0, last: 0 }]);
});

test("the clock stands until the first glue is on", () => {
  const before = read(after(0, 1), 8);
  assert.deepEqual([before.step, before.begins, before.gone, before.state, before.limits.length], [2, true, null, "before glue", 0]);
});

test("the first touch of a spreading starts its open time, the second says it is done", () => {
  const spreading = read(after(0, 1, 2), 5);
  assert.deepEqual([spreading.step, spreading.begins, spreading.gone], [2, false, 3 * MINUTE]);
  assert.deepEqual([spreading.limits[0]?.left, spreading.limits[0]?.by, spreading.state], [12 * MINUTE, 3, "calm"]);
  assert.equal(read(after(0, 1, 2, 4), 5).step, 3);
});

test("closing ends a batch's open time and begins the closed time, up to the clamps", () => {
  const closed = read(after(0, 1, 2, 4, 6), 7);
  assert.deepEqual(closed.limits.map(({ what, left, by }) => [what, left / MINUTE, by]), [["closed", 19, 7]]);
  const second = read(after(0, 1, 2, 4, 6, 8, 9), 10);
  assert.deepEqual(second.limits.map(({ what, left, by }) => [what, left / MINUTE, by]), [["open", 13, 6], ["closed", 16, 7]]);
});

test("with several limits the closest is told first", () => {
  // Closed since minute 6, so clamps are due at 26; glue on at 18 is open until 33.
  const late = read(after(0, 1, 2, 4, 6, 18), 19);
  assert.deepEqual(late.limits.map(({ what, left }) => [what, left / MINUTE]), [["closed", 7], ["open", 14]]);
});

test("it warns from 2 minutes or a fifth before a limit on, whichever is earlier, and says when it is past", () => {
  assert.deepEqual([warnsAt(15 * MINUTE), warnsAt(5 * MINUTE), warnsAt(2 * MINUTE)], [3 * MINUTE, 2 * MINUTE, MINUTE]);
  const open = after(0, 1, 2);
  assert.equal(read(open, 13.9).state, "calm");
  assert.equal(read(open, 14).state, "soon");
  assert.equal(read(open, 17).state, "over");
  assert.equal(read(open, 18).limits[0]?.left, -MINUTE);
});

test("when all is ticked nothing runs any more", () => {
  const done = after(0, 1, 2, 3, 4, 5, 6, 7, 8, 9);
  assert.equal(done.length, 10);
  assert.deepEqual([read(done, 60).step, read(done, 60).state, read(done, 60).limits.length], [8, "done", 0]);
  assert.deepEqual(touched(here, steps, done, 70 * MINUTE), done);
});

test("without clamps no closed time runs, and without a time on the label no limit", () => {
  const bare = [step("spread"), step("move")];
  const touches: Touch[] = [{ step: 0, what: "begun", at: 0 }, { step: 0, what: "done", at: 0 }];
  assert.equal(reading(here, bare, touches, 0).limits.length, 1);
  assert.equal(reading(stage({ time: { ...here.time, open: 0, closed: 0 } }), bare, touches, 0).limits.length, 0);
});

test("times as they are read off a clock", () => {
  assert.deepEqual([0, 59_999, 754_000, 3_725_000, -61_000].map(counted), ["0:00", "0:59", "12:34", "1:02:05", "1:01"]);
});
