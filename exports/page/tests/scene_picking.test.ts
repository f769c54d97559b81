import assert from "node:assert/strict";
import { test } from "node:test";
import type { Placed } from "../source/moment.ts";
import type { Solid } from "../source/scene/arrays.ts";
import { solidOf } from "../source/scene/arrays.ts";
import { outline, planeOf, takenOff } from "../source/scene/cutting.ts";
import { facets, folds, strokes } from "../source/scene/facets.ts";
import { instancesOf, layout, STRIDE, written } from "../source/scene/instances.ts";
import { DARK, LIGHT, lookOf } from "../source/scene/looks.ts";
import { measured, sharp, touched, within } from "../source/scene/picking.ts";
import type { Sight } from "../source/scene/picking.ts";
import { placedSigns } from "../source/scene/placing.ts";
import { fitted, seenAt } from "../source/scene/pose.ts";
import { paced } from "../source/scene/sharpness.ts";
import type { Frame, Part, Point, Shape } from "../source/walk.ts";

const LENS = { width: 800, height: 600, tangent: 0.25 };
const text = (numbers: Float32Array | Uint16Array): string => Buffer.from(numbers.buffer).toString("base64");

/** A block 100 by 60 by 40 with a corner at its origin. */
function block(): Shape {
  const corners: number[] = [];
  for (let k = 0; k < 8; k++) corners.push(k & 4 ? 100 : 0, k & 2 ? 60 : 0, k & 1 ? 40 : 0);
  const triangles = [[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]].flatMap(([a, b, c, d]) => [a!, b!, c!, a!, c!, d!]);
  const edges: number[] = [];
  for (let k = 0; k < 8; k++) for (const bit of [1, 2, 4]) if (!(k & bit)) edges.push(k, k | bit);
  return {
    corners: text(new Float32Array(corners)), triangles: text(new Uint16Array(triangles)), edges: text(new Uint16Array(edges)),
    box: [[0, 0, 0], [100, 60, 40]],
  };
}

const SHAPE = block();
const at = (x: number, y = 0): Frame => [1, 0, 0, x, 0, 1, 0, y, 0, 0, 1, 0];
const piece = (part: number, x: number, role: Placed["role"] = "wood", y = 0): Placed => ({ part, shape: 0, at: at(x, y), role, seen: 1 });
const solid = (): Solid => solidOf(SHAPE);
const sight = (pieces: Placed[], plane: Sight["plane"] = null): Sight => ({
  pose: fitted([[0, 0, 0], [300, 60, 40]], { azimuth: 0.3, height: 0.4 }, LENS, { left: 20, right: 20, top: 20, bottom: 20 }),
  lens: LENS, pieces, solid, plane,
});
const over = (one: Sight, p: Point): [number, number] => { const [x, y] = seenAt(one.pose, LENS, p); return [x, y]; };

test("what is touched is the nearest piece, never a ghost", () => {
  const one = sight([piece(7, 0), piece(8, 200), piece(9, 0, "wood", 200)]);
  assert.equal(touched(one, ...over(one, [50, 0, 20]))?.part, 7);
  assert.equal(touched(one, ...over(one, [250, 0, 20]))?.part, 8);
  assert.equal(touched(one, ...over(one, [150, 0, 20])), null);
  assert.equal(touched(sight([piece(7, 0, "ghost")]), ...over(one, [50, 0, 20])), null);
});

test("measuring takes the corner within a finger, else the edge, else the face", () => {
  const one = sight([piece(7, 0)]);
  const [x, y] = over(one, [0, 0, 40]);
  const corner = measured(one, x + 6, y + 5, 10)!;
  assert.equal(corner.kind, "corner");
  assert.deepEqual(corner.at, [0, 0, 40]);
  const edge = measured(one, ...over(one, [50, 0, 40]), 10)!;
  assert.equal(edge.kind, "edge");
  assert.ok(Math.abs(edge.at[0] - 50) < 0.01 && edge.at[1] === 0 && edge.at[2] === 40);
  const face = measured(one, ...over(one, [50, 30, 40]), 4)!;
  assert.equal(face.kind, "face");
  assert.ok(Math.abs(face.normal![2] - 1) < 1e-6);
});

test("a hidden corner is not taken", () => {
  const one = sight([piece(7, 0)]);
  const found = measured(one, ...over(one, [100, 60, 0]), 3);
  assert.ok(found === null || found.kind !== "corner" || found.at[2] !== 0);
});

test("what is cut away cannot be touched, and the face that is cut open can", () => {
  const plane = planeOf({ axis: 1, at: 0.5, flipped: true }, [[0, 0, 0], [100, 60, 40]]);
  const one = sight([piece(7, 0)], plane);
  const hit = touched(one, ...over(one, [50, 30, 20]))!;
  assert.ok(Math.abs(hit.at[1] - 30) < 1e-6 && hit.normal[1] === -1);
  assert.ok(takenOff(plane, [50, 10, 20]) && !takenOff(plane, [50, 50, 20]));
  const ends = outline({ pieces: [piece(7, 0)], aids: [], arrows: [], signs: [], lines: [], ground: null, box: SHAPE.box, look: "" }, plane, solid);
  let round = 0;
  for (let k = 0; k < ends.length; k += 6) round += Math.hypot(ends[k]! - ends[k + 3]!, ends[k + 1]! - ends[k + 4]!, ends[k + 2]! - ends[k + 5]!);
  assert.ok(Math.abs(round - 280) < 1e-3);
});

test("within the wood, near it, and clear of it", () => {
  const one = sight([piece(7, 0)]);
  assert.ok(within(one, [50, 30, 20], 1));
  assert.ok(!within(one, [50, 30, 90], 5));
});

test("a block has eight sharp corners, 24 drawn ones, and a line for each fold", () => {
  assert.equal(sharp(solid()).size, 8);
  assert.equal(facets(solid()).positions.length, 24 * 3);
  const drawn = strokes(folds(solid()));
  assert.deepEqual([drawn.corners.length, drawn.index.length], [12 * 4 * 8, 12 * 6]);
});

test("pieces are laid out by solid and by how they are drawn", () => {
  const part = { tone: "#c89b6a", grain: [1, 0, 0] } as unknown as Part;
  const moment = { pieces: [piece(0, 0), piece(1, 200, "moving"), piece(2, 0, "ghost"), { ...piece(3, 0), seen: 0.5 }], aids: [],
    arrows: [], signs: [], lines: [], ground: null, box: SHAPE.box, look: "" };
  const all = instancesOf(moment, [part, part, part, part], null, LIGHT);
  const ways = layout(all).get(0)!;
  const counts = Object.fromEntries(Object.entries(ways).map(([way, list]) => [way, list.length]));
  assert.deepEqual(counts, { inside: 0, solid: 2, line: 1, strong: 1, veil: 1, pale: 1, hollow: 1, ghost: 1 });
  const numbers = new Float32Array(2 * STRIDE);
  written(ways.solid, numbers);
  assert.deepEqual([...numbers.subarray(STRIDE, STRIDE + 12)], at(200));
});

test("every role is told by more than its hue", () => {
  const roles = ["wood", "moving", "ghost", "temporary", "wrong", "right", "around"] as const;
  for (const on of [LIGHT, DARK]) {
    const told = roles.map((role) => lookOf(role, [200, 160, 110], on)).map((look) => [look.width, look.dash, look.pattern, look.solid].join());
    assert.equal(new Set(told).size, roles.length);
  }
  const grey = (role: "wood" | "earlier"): number => lookOf(role, [200, 160, 110], LIGHT).fill.reduce((sum, v) => sum + v, 0) / 3;
  assert.ok(grey("earlier") > grey("wood") + 40);
});

test("signs stand clear of each other and within the picture", () => {
  const wanted = Array.from({ length: 6 }, () => ({ x: 200, y: 150, width: 110, height: 26, fixed: false }));
  const found = placedSigns(wanted, 400, 300, [], []);
  found.forEach((a, i) => {
    assert.ok(a.left >= 4 && a.top >= 4 && a.left + 110 <= 396 && a.top + 26 <= 296);
    found.slice(i + 1).forEach((b) => { assert.ok(Math.abs(a.left - b.left) >= 110 || Math.abs(a.top - b.top) >= 26); });
  });
});

test("pictures that take long get fewer pixels, but never too few, and get them back", () => {
  assert.ok(paced(1, 300, 1) < 1);
  let ratio = 2;
  for (let k = 0; k < 40; k++) ratio = paced(ratio, 900, 2);
  assert.ok(ratio >= 0.6 && ratio < 1);
  for (let k = 0; k < 80; k++) ratio = paced(ratio, 12, 2);
  assert.equal(ratio, 2);
});
