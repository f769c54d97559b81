/** What is drawn at a step, against positions worked out by hand. */

import assert from "node:assert/strict";
import { test } from "node:test";
import { ease } from "../source/moment/course.ts";
import { ofStep } from "../source/moment/steps.ts";
import type { Moment } from "../source/moment.ts";
import { POST_LEFT, POST_RIGHT, RAIL_HIGH, RAIL_LOW, SPACER, STEPS, staged, step, move } from "./staged.ts";
import { finding } from "./made.ts";

const NONE: ReadonlySet<number> = new Set();
const walk = staged();
const at = (index: number, share: number, coming: "absent" | "ghost" = "absent", hidden = NONE) => ofStep(walk, index, share, coming, hidden);
const of = (moment: Moment, part: number) => moment.pieces.find((piece) => piece.part === part);
const place = (moment: Moment, part: number) => {
  const frame = of(moment, part)?.at;
  return frame ? [frame[3], frame[7], frame[11]] : null;
};

test("a piece slides straight home: travel and clear back at 0, half of it at a half, home at 1", () => {
  assert.deepEqual(place(at(3, 0), RAIL_LOW), [150, 0, 300]);
  assert.deepEqual(place(at(3, 0.5), RAIL_LOW), [100, 0, 300]);
  assert.deepEqual(place(at(3, 1), RAIL_LOW), [50, 0, 300]);
  assert.equal(of(at(3, 0.5), RAIL_LOW)?.role, "moving");
  assert.equal(of(at(4, 1), RAIL_LOW)?.role, "wood");
});

test("the ease is calm: still at both ends, a half at a half, never back", () => {
  assert.equal(ease(0), 0);
  assert.equal(ease(0.5), 0.5);
  assert.equal(ease(1), 1);
  assert.ok(ease(0.01) < 0.001 && ease(0.99) > 0.999);
  for (let k = 0; k < 100; k++) assert.ok(ease((k + 1) / 100) > ease(k / 100));
});

test("round a corner: first in along `before`, then home along `way`", () => {
  // Home at x 50; the corner 40 mm to its right; the beginning 120 mm nearer than that. Turned at 120 / 160, at most 0.7.
  assert.deepEqual(place(at(5, 0), RAIL_HIGH), [90, -120, 600]);
  assert.deepEqual(place(at(5, 0.35), RAIL_HIGH), [90, -60, 600]);
  const [x, y] = place(at(5, 0.7), RAIL_HIGH)!;
  assert.ok(Math.abs(x! - 90) < 1e-9 && Math.abs(y!) < 1e-9);
  assert.ok(Math.abs(place(at(5, 0.85), RAIL_HIGH)![0]! - 70) < 1e-9);
  assert.deepEqual(place(at(5, 1), RAIL_HIGH), [50, 0, 600]);
});

test("several in one step come home together", () => {
  const half = at(6, 0.5);
  assert.deepEqual(place(half, POST_RIGHT), [690, 0, 0]);
  assert.deepEqual(place(half, SPACER), [100, 0, 345]);
  assert.equal(half.arrows.length, 2);
  assert.equal(half.lines.length, 2);
});

test("a piece is not there before it comes, or is a ghost at home by choice; hidden ones are never there", () => {
  assert.equal(of(at(2, 1), RAIL_HIGH), undefined);
  assert.deepEqual([of(at(3, 0, "ghost"), RAIL_HIGH)?.role, place(at(3, 0, "ghost"), RAIL_HIGH)], ["ghost", [50, 0, 600]]);
  assert.equal(of(at(3, 0, "ghost", new Set([RAIL_HIGH])), RAIL_HIGH), undefined);
  assert.equal(of(at(4, 1, "absent", new Set([RAIL_LOW])), RAIL_LOW), undefined);
});

test("while things are laid ready all is there as ghosts", () => {
  assert.equal(at(0, 1).pieces.length, 5);
  assert.ok(at(0, 1).pieces.every((piece) => piece.role === "ghost"));
});

test("earlier work is pale once it is home, a temporary part always temporary", () => {
  assert.equal(of(at(6, 0.5), POST_RIGHT)?.role, "moving");
  assert.equal(of(at(7, 1), POST_RIGHT)?.role, "earlier");
  assert.equal(of(at(6, 0.5), SPACER)?.role, "temporary");
});

test("what is only laid down appears where it lies", () => {
  assert.equal(of(at(1, 0), POST_LEFT)?.seen, 0);
  assert.equal(of(at(1, 1), POST_LEFT)?.seen, 1);
  assert.deepEqual(place(at(1, 0), POST_LEFT), [0, 0, 0]);
});

test("what gets glue waits where its way begins, and is marked on its leading end", () => {
  const glued = at(2, 1);
  assert.deepEqual(place(glued, RAIL_LOW), [150, 0, 300]);
  // The rail's middle is at x 300 + 50, 100 mm back; its leading end 300 mm to the left of that.
  assert.deepEqual(glued.signs.filter((sign) => sign.says === "glue").map((sign) => sign.at), [[150, 20, 310]]);
});

test("hands move with the piece they are on", () => {
  const hand = (share: number) => at(3, share).signs.find((sign) => sign.look === "hand")?.at;
  assert.deepEqual(hand(0), [200, 20, 310]);
  assert.deepEqual(hand(1), [100, 20, 310]);
});

test("a clamp appears in its share of its step, and comes off while one waits", () => {
  assert.equal(at(7, 0.4).aids.length, 0);
  assert.equal(at(7, 1).aids[0]?.seen, 1);
  assert.equal(at(8, 0.5).aids[0]?.seen, 1);
  assert.equal(at(8, 1).aids.length, 0);
  assert.equal(at(9, 0).aids.length, 1);
  assert.equal(at(9, 1).aids.length, 0);
});

test("what is moved off stays there; what is taken away is gone", () => {
  assert.deepEqual(place(at(9, 0.5), SPACER), [100, 0, 420]);
  assert.deepEqual(place(at(10, 0), SPACER), [100, 0, 520]);
  assert.deepEqual(place(at(10, 0.5), SPACER), [250, 0, 520]);
  assert.ok(of(at(10, 0.9), SPACER)!.seen < 0.5);
  assert.equal(of(at(10, 1), SPACER), undefined);
  assert.equal(of(at(11, 1), SPACER), undefined);
});

test("an arrow leads ahead of what goes off, and is gone when it is", () => {
  const arrow = at(10, 0).arrows[0]!;
  assert.equal(arrow.look, "leave");
  assert.deepEqual(arrow.from, [700, 20, 530]);
  assert.deepEqual(arrow.to, [1000, 20, 530]);
  assert.equal(at(10, 1).arrows.length, 0);
});

test("a cut shows both shapes while it lasts, and the cut one after", () => {
  const shapes = (share: number) => at(11, share).pieces.filter((piece) => piece.part === RAIL_LOW).map((piece) => [piece.shape, piece.seen]);
  assert.deepEqual(shapes(0), [[0, 1]]);
  assert.deepEqual(shapes(0.5), [[0, 0.5], [2, 1]]);
  assert.deepEqual(shapes(1), [[2, 1]]);
  assert.equal(of(at(10, 1), RAIL_LOW)?.shape, 0);
});

test("a piece moved twice waits where its second way begins", () => {
  const twice = staged();
  twice.steps = twice.steps.map((one, k) => (k === 6 ? { ...one, moves: [...one.moves, move([RAIL_LOW], [0, 0, -1], 0, 80)] } : one));
  const frame = (index: number, share: number) => ofStep(twice, index, share, "absent", NONE).pieces.find((piece) => piece.part === RAIL_LOW)!.at;
  assert.equal(frame(3, 0)[11], 380);
  assert.equal(frame(4, 1)[11], 380);
  assert.equal(frame(4, 1)[3], 50);
  assert.equal(frame(6, 1)[11], 300);
});

test("the finished work stands on the floor, without what has left", () => {
  const end = at(STEPS.length, 1);
  assert.equal(end.pieces.length, 4);
  assert.equal(end.ground?.on, "floor");
  assert.equal(end.look, "finished");
  assert.deepEqual(end.box, walk.box);
});

test("the camera stays within a stage, and the view holds where pieces come from within bounds", () => {
  assert.equal(at(1, 0).look, at(11, 1).look);
  // The spacer goes off to x 1000, the high rail comes from y -120; both are held to 0.18 of the size, 206 mm.
  const [low, high] = at(1, 0).box;
  const most = 0.18 * Math.hypot(700, 100, 900);
  assert.ok(Math.abs(high[0] - (700 + most)) < 1e-9);
  assert.deepEqual([low[0], low[1], low[2]], [0, -120, 0]);
});

test("a finding is marked where it shows, in its own stage only", () => {
  const found = staged({ findings: [finding(7, "stop", { stage: 0, at: [1, 2, 3] }), finding(8, "warn", { stage: 1, at: [1, 2, 3] })] });
  found.steps = found.steps.map((one, k) => (k === 3 ? { ...one, findings: [0, 1, 99] } : one));
  const signs = ofStep(found, 3, 1, "absent", NONE).signs.filter((sign) => sign.look === "finding");
  assert.deepEqual(signs, [{ at: [1, 2, 3], look: "finding", says: "STOP 7" }]);
});

test("what does not change is the same object from picture to picture", () => {
  assert.equal(of(at(5, 0.2), POST_LEFT), of(at(5, 0.7), POST_LEFT));
});

test("a step that is not there shows the last, and a walk without steps the finished work", () => {
  assert.equal(at(99, 1).look, "finished");
  assert.equal(at(-3, 0).look, at(0, 0).look);
  assert.equal(ofStep(staged({ steps: [], stages: [] }), 0, 1, "absent", NONE).look, "finished");
  assert.equal(ofStep(staged({ steps: [step("move", { moves: [move([77], [0, 0, 1], 1, 1)] })] }), 0, 0.5, "absent", NONE).arrows.length, 0);
});

test("where nothing has come yet, what will is shown as ghosts rather than an empty bench", () => {
  const held = staged();
  held.steps = held.steps.map((one, k) => (k === 0 ? step("hold", { id: "1.1" }) : one));
  assert.ok(ofStep(held, 0, 1, "absent", NONE).pieces.every((piece) => piece.role === "ghost"));
  assert.equal(ofStep(held, 0, 1, "absent", NONE).pieces.length, 5);
  assert.equal(ofStep(held, 0, 1, "absent", new Set([0, 1, 2, 3, 4])).pieces.length, 0);
});
