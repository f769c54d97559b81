/** How each piece of a stage comes in, changes and leaves, worked out once for the whole stage. */

import type { Box, Frame, Motion, Point, Stage, Walk } from "../walk.ts";
import type { Placed, Role } from "../moment.ts";

/** One motion of a piece: in the step with this index, from `start` (by `corner`, when it comes round one) to nothing,
 * both as offsets from where the motion ends; `turnAt` is the share at which the corner is reached. */
export interface Passage {
  step: number;
  motion: Motion;
  start: Point;
  corner: Point | null;
  turnAt: number;
}

/** One piece on its way through a stage. */
export interface Course {
  part: number;
  home: Frame;
  role: Role;
  /** Middle and half sizes of its box at home, shop frame. */
  centre: Point;
  half: Point;
  passages: Passage[];
  /** Offset before each passage: the sum of what it and those after it still have to travel. */
  before: Point[];
  /** The steps at which it goes off, how far from home it then is, and whether it stays there. */
  leaves: { step: number; by: Point; stays: boolean }[];
  /** Its shape from the beginning, and from each change on. */
  shape: number;
  changes: { step: number; from: number; to: number }[];
  /** As it lies at home, by shape and role: made once, so that what does not change is the same object. */
  kept: Map<string, Placed>;
}

const TURN_LEAST = 0.3;

export function sum(a: Point, b: Point): Point {
  return [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
}

export function times(a: Point, by: number): Point {
  return [a[0] * by, a[1] * by, a[2] * by];
}

export function moved(at: Frame, by: Point): Frame {
  return [at[0], at[1], at[2], at[3] + by[0], at[4], at[5], at[6], at[7] + by[1], at[8], at[9], at[10], at[11] + by[2]];
}

/** Middle and half sizes, along the axes of the shop, of a box that is placed by a frame. */
export function placedBox(box: Box, at: Frame): { centre: Point; half: Point } {
  const centre: Point = [0, 0, 0];
  const half: Point = [0, 0, 0];
  for (let row = 0; row < 3; row++) {
    let middle = at[row * 4 + 3]!;
    let reach = 0;
    for (let axis = 0; axis < 3; axis++) {
      const turn = at[row * 4 + axis]!;
      middle += (turn * (box[0][axis]! + box[1][axis]!)) / 2;
      reach += (Math.abs(turn) * (box[1][axis]! - box[0][axis]!)) / 2;
    }
    centre[row] = middle;
    half[row] = reach;
  }
  return { centre, half };
}

/** Where a motion begins, as an offset from where it ends: straight back along `way`, or round by `before`. */
export function passage(step: number, motion: Motion): Passage {
  if (motion.before === null) {
    return { step, motion, start: times(motion.way, -(motion.travel + motion.clear)), corner: null, turnAt: 0 };
  }
  const corner = times(motion.way, -motion.travel);
  const whole = motion.travel + motion.clear;
  const turnAt = whole > 0 ? Math.min(1 - TURN_LEAST, Math.max(TURN_LEAST, motion.clear / whole)) : 0.5;
  return { step, motion, start: sum(corner, times(motion.before, -motion.clear)), corner, turnAt };
}

/** A calm start and a calm end: 0 at 0, a half at a half, 1 at 1. */
export function ease(share: number): number {
  const t = Math.min(1, Math.max(0, share));
  return t * t * (3 - 2 * t);
}

/** The offset at a share of a passage from where it ends. */
export function along(passage: Passage, share: number): Point {
  const { start, corner, turnAt } = passage;
  if (corner === null) return times(start, 1 - ease(share));
  if (share < turnAt) {
    const done = ease(share / turnAt);
    return sum(times(start, 1 - done), times(corner, done));
  }
  return times(corner, 1 - ease((share - turnAt) / (1 - turnAt)));
}

const known = new WeakMap<Stage, Course[]>();

/** The courses of all pieces of a stage, in the order of its pieces. */
export function courses(walk: Walk, stage: Stage): Course[] {
  let found = known.get(stage);
  if (!found) {
    found = work(walk, stage);
    known.set(stage, found);
  }
  return found;
}

function work(walk: Walk, stage: Stage): Course[] {
  const of = new Map<number, Course>();
  const all = stage.pieces.map((piece) => {
    const temporary = walk.parts[piece.part]?.temporary ?? false;
    const box = walk.shapes[piece.shape]?.box ?? [[0, 0, 0], [0, 0, 0]];
    const course: Course = {
      part: piece.part, home: piece.at, role: temporary ? "temporary" : piece.before ? "earlier" : "wood",
      ...placedBox(box, piece.at), passages: [], before: [], leaves: [], shape: piece.shape, changes: [],
      kept: new Map(),
    };
    of.set(piece.part, course);
    return course;
  });
  for (let index = stage.first; index < stage.end; index++) {
    const step = walk.steps[index];
    if (!step) continue;
    for (const motion of step.moves) {
      for (const part of motion.parts) of.get(part)?.passages.push(passage(index, motion));
    }
    for (const left of step.leaves) {
      of.get(left.part)?.leaves.push({ step: index, by: left.by, stays: left.stays });
    }
    for (const change of step.changes) of.get(change.part)?.changes.push({ step: index, from: change.from, to: change.to });
  }
  for (const course of all) course.before = stillToGo(course.passages);
  return all;
}

function stillToGo(passages: Passage[]): Point[] {
  const offsets: Point[] = [];
  let rest: Point = [0, 0, 0];
  for (let k = passages.length - 1; k >= 0; k--) {
    rest = sum(rest, passages[k]!.start);
    offsets[k] = rest;
  }
  return offsets;
}

/** Where a piece is at a share of a step, as an offset from home; null before it has come. `home` when it moves no more. */
export function offset(course: Course, step: number, share: number): Point | "home" | null {
  const { passages, before } = course;
  const first = passages[0];
  if (!first) return "home";
  if (first.step > step) return null;
  for (let k = 0; k < passages.length; k++) {
    const one = passages[k]!;
    if (one.step < step) continue;
    const later = before[k + 1];
    if (one.step > step) return before[k]!;
    if (share >= 1) return later ?? "home";
    const here = along(one, share);
    return later ? sum(here, later) : here;
  }
  return "home";
}

/** Where a piece was set down before a step begins, as an offset from home; null once it has been taken away. */
export function setDown(course: Course, step: number): Point | null {
  let at: Point = [0, 0, 0];
  for (const left of course.leaves) {
    if (left.step >= step) break;
    if (!left.stays) return null;
    at = left.by;
  }
  return at;
}

/** The shape of a piece before a step begins. */
export function shapeAt(course: Course, step: number): number {
  let shape = course.changes.length > 0 ? course.changes[0]!.from : course.shape;
  for (const change of course.changes) {
    if (change.step < step) shape = change.to;
  }
  return shape;
}

/** A piece as it lies at home; the same object for the same shape and role. */
export function atHome(course: Course, shape: number, role: Role): Placed {
  const key = `${shape} ${role}`;
  let placed = course.kept.get(key);
  if (!placed) {
    placed = { part: course.part, shape, at: course.home, role, seen: 1 };
    course.kept.set(key, placed);
  }
  return placed;
}
