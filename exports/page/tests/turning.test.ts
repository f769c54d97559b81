import assert from "node:assert/strict";
import { test } from "node:test";
import { carried, inverse, quaternionOf, swungBy, times } from "../source/measure/frames.ts";
import { between, cross, dot, length, middle } from "../source/measure/vectors.ts";
import { swings } from "../source/moment/turning.ts";
import type { Finding, Frame, Point, Walk } from "../source/walk.ts";
import { anyFrame, dice } from "./chance.ts";

const near = (a: number, b: number, within = 1e-9): void => { assert.ok(Math.abs(a - b) <= within, `${a} is not ${b}`); };
const close = (a: Point, b: Point, within = 1e-6): void => { assert.ok(between(a, b) <= within, `${a} is not ${b}`); };

/** The angle of a frame's rotation. */
const angleOf = (f: Frame): number => 2 * Math.acos(Math.min(1, Math.abs(quaternionOf(f)[0])));

/** A walk that knows only the boxes of its shapes. */
function boxes(...all: [Point, Point][]): Walk {
  return { shapes: all.map((box) => ({ corners: "", triangles: "", edges: "", box })) } as unknown as Walk;
}
const turned = (first: object, others: object[] = []): Finding["turned"] =>
  ({ ...first, wrongSays: "", rightSays: "", others }) as unknown as Finding["turned"];

test("a swing stays rigid, begins and ends where it should, and has half the angle halfway", () => {
  const roll = dice(99);
  const centre: Point = [200, 10, -5];
  for (let i = 0; i < 300; i++) {
    const motion = anyFrame(roll);
    const half = swungBy(motion, centre, 0.5);
    const cols = [0, 1, 2].map((k): Point => [half[k]!, half[4 + k]!, half[8 + k]!]);
    for (const col of cols) near(length(col), 1);
    near(dot(cross(cols[0]!, cols[1]!), cols[2]!), 1);
    close(carried(half, centre), middle(centre, carried(motion, centre)));
    near(angleOf(half), angleOf(motion) / 2, 1e-6);
    for (const spot of [[0, 0, 0], [500, 3, 9]] as Point[]) {
      close(carried(swungBy(motion, centre, 0), spot), spot);
      close(carried(swungBy(motion, centre, 1), spot), carried(motion, spot));
    }
  }
});

test("frames: one after another, and undone", () => {
  const roll = dice(5);
  for (let i = 0; i < 100; i++) {
    const [a, b] = [anyFrame(roll), anyFrame(roll)];
    close(carried(times(a, b), [1, 2, 3]), carried(a, carried(b, [1, 2, 3])));
    close(carried(inverse(a), carried(a, [7, -8, 9])), [7, -8, 9]);
  }
});

test("a rail turned end for end in its place: its middle stays, and halfway it stands square to itself", () => {
  const walk = boxes([[0, -20, -10], [600, 20, 10]]);
  const wrong: Frame = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0];
  const right: Frame = [-1, 0, 0, 600, 0, -1, 0, 0, 0, 0, 1, 0];
  const one = turned({ part: 3, wrong, right, wrongShape: 0, rightShape: 0 });
  const [half] = swings(walk, one, 0.5);
  close(carried(half!.at, [300, 0, 0]), [300, 0, 0]);
  near(Math.abs(carried(half!.at, [600, 0, 0])[1]), 300, 1e-6);
  assert.deepEqual(swings(walk, one, 0), [{ part: 3, at: wrong, shape: 0 }]);
  assert.deepEqual(swings(walk, one, 1), [{ part: 3, at: right, shape: 0 }]);
});

test("what turns as one stays one body on its swing; pieces that change places each go their own way", () => {
  const walk = boxes([[0, 0, 0], [100, 40, 20]], [[0, 0, 0], [60, 40, 20]]);
  const roll = dice(31);
  const motion = anyFrame(roll);
  const [p, q] = [anyFrame(roll), anyFrame(roll)];
  const group = turned({ part: 0, wrong: p, right: times(motion, p), wrongShape: 0, rightShape: 0 },
    [{ part: 1, wrong: q, right: times(motion, q), wrongShape: 1, rightShape: 1 }]);
  const apart = between(carried(p, [0, 0, 0]), carried(q, [0, 0, 0]));
  for (const share of [0.1, 0.3, 0.5, 0.8]) {
    const [one, other] = swings(walk, group, share);
    near(between(carried(one!.at, [0, 0, 0]), carried(other!.at, [0, 0, 0])), apart, 1e-6);
  }
  const places = turned({ part: 0, wrong: p, right: q, wrongShape: 0, rightShape: 0 }, [{ part: 1, wrong: q, right: p, wrongShape: 0, rightShape: 0 }]);
  const [one, other] = swings(walk, places, 0.5);
  close(carried(one!.at, [50, 20, 10]), carried(other!.at, [50, 20, 10]));
});

test("a piece of the other hand is not swung through a mirror: it changes halfway", () => {
  const walk = boxes([[0, 0, 0], [100, 40, 20]]);
  const wrong: Frame = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0];
  const right: Frame = [1, 0, 0, 0, 0, -1, 0, 0, 0, 0, 1, 0];
  const one = turned({ part: 0, wrong, right, wrongShape: 0, rightShape: 0 });
  assert.deepEqual(swings(walk, one, 0.4)[0]!.at, wrong);
  assert.deepEqual(swings(walk, one, 0.6)[0]!.at.map((n) => n + 0), right);
});
