import assert from "node:assert/strict";
import { test } from "node:test";
import { leastBetween, measure } from "../source/measure/distance.ts";
import { carried, turned } from "../source/measure/frames.ts";
import { between, middle } from "../source/measure/vectors.ts";
import { label, run, said } from "../source/measure/words.ts";
import { anyFrame, anyWay, dice } from "./chance.ts";
import type { Pick } from "../source/state.ts";
import type { Frame, Point } from "../source/walk.ts";

const corner = (...at: Point): Pick => ({ kind: "corner", part: 0, at });
const edge = (a: Point, b: Point): Pick => ({ kind: "edge", part: 0, at: middle(a, b), ends: [a, b] });
const face = (at: Point, normal: Point): Pick => ({ kind: "face", part: 1, at, normal });
const near = (a: number | null, b: number, within = 1e-9): void => { assert.ok(a !== null && Math.abs(a - b) <= within, `${a} is not ${b}`); };

test("point to point: the 3, 4, 12 box has a diagonal of 13", () => {
  near(measure(corner(0, 0, 0), corner(3, 4, 12)).distance, 13);
});

test("point to edge: square to it between its ends, else to the nearer end", () => {
  const along = edge([0, 0, 0], [10, 0, 0]);
  const beside = measure(corner(4, 3, 4), along);
  near(beside.distance, 5);
  assert.deepEqual(beside.to, [4, 0, 0]);
  near(measure(along, corner(13, 4, 0)).distance, 5);
});

test("point to face: square to its plane, whichever was picked first", () => {
  const found = measure(face([0, 0, 7], [0, 0, 1]), corner(30, 40, 2));
  near(found.distance, 5);
  assert.deepEqual([found.from, found.to], [[30, 40, 7], [30, 40, 2]]);
});

test("parallel edges: between their lines, and between their ends when they do not lie side by side", () => {
  const found = measure(edge([0, 0, 0], [10, 0, 0]), edge([8, 3, 0], [2, 3, 0]));
  near(found.distance, 3);
  assert.equal(found.angle, 0);
  assert.equal(found.ends, null);
  assert.deepEqual([found.from, found.to], [[5, 0, 0], [5, 3, 0]]);
  const past = measure(edge([0, 0, 0], [10, 0, 0]), edge([14, 3, 0], [20, 3, 0]));
  near(past.distance, 3);
  near(past.ends, 5);
});

test("edges that cross in space: the least distance, and the angle as the acute one", () => {
  const found = measure(edge([-5, 0, 0], [5, 0, 0]), edge([-5, -5, 4], [5, 5, 4]));
  near(found.distance, 4);
  near(found.angle, Math.PI / 4);
  near(measure(edge([0, 0, 0], [1, 0, 0]), edge([0, 0, 0], [-1, 1, 0])).angle, Math.PI / 4);
});

test("faces: the thickness when parallel, else the angle: a roof of 30 degrees", () => {
  const board = measure(face([0, 0, 0], [0, 0, -1]), face([500, 20, 38.1], [0, 0, 1]));
  near(board.distance, 38.1);
  assert.equal(board.angle, 0);
  const roof = measure(face([0, 0, 0], [0, 0, 1]), face([9, 9, 9], [0.5, 0, Math.sqrt(3) / 2]));
  assert.equal(roof.distance, null);
  near(roof.angle, Math.PI / 6);
});

test("an edge and a face: apart when parallel, else how the edge leans", () => {
  near(measure(edge([0, 0, 5], [9, 0, 5]), face([50, 50, 0], [0, 0, 1])).distance, 5);
  near(measure(face([0, 0, 0], [0, 0, 1]), edge([0, 0, 0], [1, 0, 1])).angle, Math.PI / 4);
});

test("an edge of no length and a face without a normal are points", () => {
  near(measure({ kind: "edge", part: 0, at: [0, 0, 0], ends: [[1, 1, 1], [1, 1, 1]] }, { kind: "face", part: 0, at: [0, 0, 2] }).distance, 2);
});

function anyPick(roll: () => number): Pick {
  const at = (): Point => [roll() * 900, roll() * 700, roll() * 500];
  const kind = Math.floor(roll() * 3);
  const spot = at();
  // A third of the directions are along the axes, so that parallel pairs come up as well.
  const axes: Point[] = [[1, 0, 0], [0, 1, 0], [0, 0, 1]];
  const way = roll() < 0.4 ? axes[Math.floor(roll() * 3)]! : anyWay(roll);
  if (kind === 0) return { kind: "corner", part: 0, at: spot };
  if (kind === 2) return { kind: "face", part: 0, at: spot, normal: way };
  const end: Point = [spot[0] + way[0] * 300, spot[1] + way[1] * 300, spot[2] + way[2] * 300];
  return { kind: "edge", part: 0, at: middle(spot, end), ends: [spot, end] };
}

function moved(pick: Pick, by: Frame): Pick {
  return {
    ...pick, at: carried(by, pick.at),
    ...(pick.ends ? { ends: [carried(by, pick.ends[0]), carried(by, pick.ends[1])] as [Point, Point] } : {}),
    ...(pick.normal ? { normal: turned(by, pick.normal) } : {}),
  };
}

test("a measure does not change when the whole is moved and turned, nor with the order of the picks", () => {
  const roll = dice(20261);
  for (let i = 0; i < 2000; i++) {
    const [a, b, by] = [anyPick(roll), anyPick(roll), anyFrame(roll)];
    const [here, there, back] = [measure(a, b), measure(moved(a, by), moved(b, by)), measure(b, a)];
    for (const other of [there, back]) {
      assert.equal(other.of, here.of);
      for (const key of ["distance", "angle", "ends"] as const) {
        if (here[key] === null) assert.equal(other[key], null);
        else near(other[key], here[key], 1e-6);
      }
    }
    if (here.distance !== null) near(between(here.from, here.to), here.distance, 1e-9);
  }
});

test("the least distance of edges is no more than that of any two points tried on them", () => {
  const roll = dice(7);
  const on = ([a, b]: [Point, Point], s: number): Point => [a[0] + (b[0] - a[0]) * s, a[1] + (b[1] - a[1]) * s, a[2] + (b[2] - a[2]) * s];
  for (let i = 0; i < 200; i++) {
    const at = (): Point => [roll() * 100, roll() * 100, roll() * 100];
    const [one, other]: [Point, Point][] = [[at(), at()], [at(), at()]] as [[Point, Point], [Point, Point]];
    const least = between(...leastBetween(one!, other!));
    let tried = Infinity;
    for (let s = 0; s <= 40; s++) for (let t = 0; t <= 40; t++) tried = Math.min(tried, between(on(one!, s / 40), on(other!, t / 40)));
    assert.ok(least <= tried + 1e-9 && tried - least < 6, `${least} against ${tried}`);
  }
});

test("the words: the figure, the angle both ways, and the run to the side, back and up", () => {
  assert.equal(run([0, 0, 0], [120, -30, 40.02], "mm"), "120 mm to the right, 30 mm to the front, 40 mm up.");
  const thick = said(face([0, 0, 0], [0, 0, -1]), face([0, 0, 38.1], [0, 0, 1]), "in");
  assert.deepEqual(thick, { what: "Between parallel faces", figure: "1 1/2 in (1.500)", more: ["1 1/2 in up."] });
  const lean = said(face([0, 0, 0], [0, 0, 1]), face([30, 40, 0], [0.5, 0, Math.sqrt(3) / 2]), "mm");
  assert.equal(lean.figure, "30°");
  assert.deepEqual(lean.more, ["They stand at 30°, or 150° read the other way.", "The two points touched are 50 mm apart."]);
  assert.equal(label(measure(corner(0, 0, 0), corner(0, 0, 25.4)), "in"), "1 in (1.000)");
});
