/** Arithmetic of points and frames (millimetres); a frame is three rows of rotation and place. */

import type { Box, Frame, Point } from "../walk.ts";

export const minus = (a: Point, b: Point): Point => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
export const plus = (a: Point, b: Point): Point => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
export const times = (a: Point, k: number): Point => [a[0] * k, a[1] * k, a[2] * k];
export const along = (a: Point, b: Point, k: number): Point => [a[0] + b[0] * k, a[1] + b[1] * k, a[2] + b[2] * k];
export const dot = (a: Point, b: Point): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const cross = (a: Point, b: Point): Point => [
  a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0],
];
export const length = (a: Point): number => Math.hypot(a[0], a[1], a[2]);
export const unit = (a: Point): Point => times(a, 1 / (length(a) || 1));
export const middle = (box: Box): Point => [0, 1, 2].map((i) => (box[0][i]! + box[1][i]!) / 2) as Point;

/** A point of the part, where it stands. */
export function placed(at: Frame, p: Point): Point {
  return [
    at[0] * p[0] + at[1] * p[1] + at[2] * p[2] + at[3],
    at[4] * p[0] + at[5] * p[1] + at[6] * p[2] + at[7],
    at[8] * p[0] + at[9] * p[1] + at[10] * p[2] + at[11],
  ];
}

/** A direction of the part, as it points where the part stands. */
export function turned(at: Frame, v: Point): Point {
  return [
    at[0] * v[0] + at[1] * v[1] + at[2] * v[2],
    at[4] * v[0] + at[5] * v[1] + at[6] * v[2],
    at[8] * v[0] + at[9] * v[1] + at[10] * v[2],
  ];
}

/** A direction of the room in the part's own frame (rigid frames only). */
export function turnedBack(at: Frame, v: Point): Point {
  return [
    at[0] * v[0] + at[4] * v[1] + at[8] * v[2],
    at[1] * v[0] + at[5] * v[1] + at[9] * v[2],
    at[2] * v[0] + at[6] * v[1] + at[10] * v[2],
  ];
}

/** A point of the room in the part's own frame (rigid frames only). */
export function placedBack(at: Frame, p: Point): Point {
  return turnedBack(at, [p[0] - at[3], p[1] - at[7], p[2] - at[11]]);
}

/** The box, square to the room, about a box that stands at a frame. */
export function boxAt(at: Frame, box: Box): Box {
  const centre = placed(at, middle(box));
  const half = times(minus(box[1], box[0]), 0.5);
  const reach = [0, 4, 8].map((r) =>
    Math.abs(at[r]!) * half[0] + Math.abs(at[r + 1]!) * half[1] + Math.abs(at[r + 2]!) * half[2]) as Point;
  return [minus(centre, reach), plus(centre, reach)];
}

/** The box about two boxes. */
export function boxOf(a: Box, b: Box): Box {
  const of = (pick: (x: number, y: number) => number, side: 0 | 1): Point =>
    [pick(a[side][0], b[side][0]), pick(a[side][1], b[side][1]), pick(a[side][2], b[side][2])];
  return [of(Math.min, 0), of(Math.max, 1)];
}

/** The eight corners of a box. */
export function cornersOf(box: Box): Point[] {
  const found: Point[] = [];
  for (const x of [0, 1]) for (const y of [0, 1]) for (const z of [0, 1]) {
    found.push([box[x]![0], box[y]![1], box[z]![2]]);
  }
  return found;
}
