import assert from "node:assert/strict";
import { test } from "node:test";
import { boxSeen, closerTo, eye, facing, firstWay, fitted, HIGHEST, orbited, seenAt, through } from "../source/scene/pose.ts";
import type { Lens, Margins } from "../source/scene/pose.ts";
import { along, dot, minus, unit } from "../source/scene/space.ts";
import type { Box, Point } from "../source/walk.ts";

const MARGINS: Margins = { left: 20, right: 30, top: 70, bottom: 10 };
const BOXES: Box[] = [[[0, 0, 0], [2000, 800, 2300]], [[-40, -5, 0], [40, 3000, 60]], [[5, 5, 5], [6, 6, 6]]];
const LENSES: Lens[] = [{ width: 950, height: 700, tangent: 0.25 }, { width: 390, height: 360, tangent: 0.25 }, { width: 360, height: 800, tangent: 0.25 }];

test("what is fitted lies within the margins and touches two opposite ones", () => {
  for (const box of BOXES) for (const lens of LENSES) for (const azimuth of [-2, 0, 0.6, 3]) for (const height of [0.1, 0.5, 1.4]) {
    const [left, top, right, bottom] = boxSeen(fitted(box, { azimuth, height }, lens, MARGINS), lens, box);
    const room = [left - MARGINS.left, lens.width - MARGINS.right - right, top - MARGINS.top, lens.height - MARGINS.bottom - bottom];
    for (const one of room) assert.ok(one > -0.01, `${room}`);
    if (box[1][0] - box[0][0] < 2) continue;
    assert.ok(Math.max(room[0]!, room[1]!) < 0.01 || Math.max(room[2]!, room[3]!) < 0.01, `${room}`);
  }
});

test("a point seen at a place lies on the ray through it", () => {
  const lens = LENSES[0]!;
  const pose = { target: [100, 50, 20] as Point, distance: 900, azimuth: 0.7, height: 0.3 };
  const point: Point = [130, -60, 210];
  const [x, y] = seenAt(pose, lens, point);
  const way = unit(minus(point, eye(pose)));
  assert.ok(dot(way, through(pose, lens, x, y)) > 1 - 1e-12);
});

test("coming closer to a point leaves it where it is in the picture and never passes it", () => {
  const lens = LENSES[1]!;
  let pose = { target: [0, 0, 0] as Point, distance: 900, azimuth: -0.4, height: 0.6 };
  const point: Point = [120, 80, 140];
  const [x, y] = seenAt(pose, lens, point);
  for (let k = 0; k < 60; k++) {
    pose = closerTo(pose, 0.8, point, seenAt(pose, lens, point)[2], [20, 9000]);
    const now = seenAt(pose, lens, point);
    assert.ok(Math.hypot(now[0] - x, now[1] - y) < 1e-6 && now[2] >= 20 - 1e-6);
  }
});

test("the eye stays above and below the pole, and a stage is seen from its front, flat work from above", () => {
  assert.equal(orbited({ target: [0, 0, 0], distance: 1, azimuth: 0, height: 1 }, 0, 9).height, HIGHEST);
  assert.ok(orbited({ target: [0, 0, 0], distance: 1, azimuth: 0, height: 1 }, 0, -9).height > 0);
  const given = facing(unit([1, 0.4, -0.3]));
  const flat = firstWay([[0, 0, 0], [2000, 900, 60]], given, true);
  assert.ok(Math.abs(flat.azimuth) <= 0.5 && flat.height > 0.9);
  assert.ok(firstWay([[0, 0, 0], [900, 900, 2000]], given, true).height < 0.5);
  assert.deepEqual(firstWay([[0, 0, 0], [2000, 900, 60]], given, false), given);
});

test("facing is the direction from the eye", () => {
  const way = unit([0.3, 0.8, -0.4]);
  const from = eye({ target: [0, 0, 0], distance: 10, ...facing(way) });
  for (const [i, v] of along([0, 0, 0], way, -10).entries()) assert.ok(Math.abs(v - from[i]!) < 1e-9);
});
