/** Runs are kept through a reload, under the work's title and what the stage consists of. */

import assert from "node:assert/strict";
import { test } from "node:test";
import { MINUTE } from "../source/order/clock.ts";
import { keep, keyOf, runsOf, underWay } from "../source/order/record.ts";
import type { Run, Shelf } from "../source/order/record.ts";
import * as running from "../source/order/running.ts";
import { walk } from "../source/state.ts";
import { STEPS, stage, staged } from "./staged.ts";

const shelf = (): Shelf & { kept: Map<string, string> } => {
  const kept = new Map<string, string>();
  return { kept, getItem: (key) => kept.get(key) ?? null, setItem: (key, value) => { kept.set(key, value); } };
};
const run = (started: number, ended: number | null = null): Run => ({ started, ended, touches: [{ step: 0, what: "done", at: started }], steps: 3 });
const three = STEPS.slice(0, 3);

test("what is kept comes back; the newest few stay", () => {
  const place = shelf();
  assert.ok(keep(place, "a", [1, 2, 3, 4, 5, 6].map((k) => run(k))));
  assert.deepEqual(runsOf(place, "a", three).map((one) => one.started), [2, 3, 4, 5, 6]);
});

test("what is no run counts as none", () => {
  const place = shelf();
  for (const text of ["", "{", "7", "null", "[null, 3, {}]", '[{"started": 1, "ended": null, "steps": 3, "touches": [{"step": 9, "what": "done", "at": 1}]}]',
    '[{"started": 1, "ended": null, "steps": 4, "touches": []}]', '[{"started": "x", "ended": null, "steps": 3, "touches": []}]']) {
    place.kept.set("a", text);
    assert.deepEqual(runsOf(place, "a", three), [], text);
  }
});

test("a browser that keeps nothing, or refuses, is told and does no harm", () => {
  const refuses: Shelf = { getItem: () => { throw new Error("no"); }, setItem: () => { throw new Error("full"); } };
  assert.deepEqual(runsOf(refuses, "a", three), []);
  assert.equal(keep(refuses, "a", [run(1)]), false);
  assert.equal(keep(null, "a", [run(1)]), false);
});

test("only a run that is not over and not from yesterday is under way", () => {
  assert.equal(underWay([run(0, 5)], 6), null);
  assert.equal(underWay([run(0)], 30 * MINUTE)?.started, 0);
  assert.equal(underWay([run(0)], 25 * 60 * MINUTE), null);
  assert.equal(underWay([], 0), null);
});

test("another title, glue time, order or glue is another key; the same work is the same", () => {
  const one = staged();
  const key = keyOf(one, one.stages[0]!);
  assert.equal(keyOf(staged(), stage()), key);
  const others = [
    keyOf(staged({ title: "Other" }), stage()),
    keyOf(one, stage({ time: { ...stage().time, open: 10 } })),
    keyOf(staged({ steps: [...one.steps].reverse() }), stage()),
    keyOf(staged({ steps: one.steps.map((step) => ({ ...step, glue: ["more"] })) }), stage()),
  ];
  assert.equal(new Set([key, ...others]).size, 5);
});

test("a run survives a reload, is undone touch by touch, and is written down when it ends", () => {
  const place = shelf();
  Object.defineProperty(globalThis, "localStorage", { value: place, configurable: true });
  let now = 1_000_000;
  running.time.now = () => now;
  walk.value = staged();
  running.begin(0);
  for (let k = 0; k < 4; k++) { now += MINUTE; running.touch(); }
  assert.equal(running.clock.value?.step, 3);
  now += 100;
  running.touch();
  assert.equal(running.clock.value?.step, 3, "a thumb that bounces ticks once");
  now -= 100;
  running.running.value = null;
  running.run.value = null;
  now += 5 * MINUTE;
  assert.ok(running.resume());
  assert.deepEqual([running.clock.value?.step, running.clock.value?.gone], [3, 6 * MINUTE]);
  assert.equal(running.clock.value?.limits[0]?.left, 9 * MINUTE);
  running.undo();
  assert.equal(running.clock.value?.step, 2);
  running.end();
  assert.equal(running.running.value, null);
  assert.equal(running.resume(), false);
  assert.equal(running.earlier(0)[0]?.ended, now);
});
