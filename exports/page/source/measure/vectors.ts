/** Points and directions: triples of numbers, mm. */

import type { Point } from "../walk.ts";

export const add = (a: Point, b: Point): Point => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
export const minus = (a: Point, b: Point): Point => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
export const times = (a: Point, by: number): Point => [a[0] * by, a[1] * by, a[2] * by];
export const dot = (a: Point, b: Point): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
export const cross = (a: Point, b: Point): Point => [
  a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0],
];
export const length = (a: Point): number => Math.hypot(a[0], a[1], a[2]);
export const between = (a: Point, b: Point): number => length(minus(a, b));
export const middle = (a: Point, b: Point): Point => times(add(a, b), 0.5);

/** The direction of a vector; nought where it has none. */
export function unit(a: Point): Point {
  const size = length(a);
  return size > 0 ? times(a, 1 / size) : [0, 0, 0];
}

/** Two directions square to a direction and to each other. */
export function square(to: Point): [Point, Point] {
  const n = unit(to);
  const least: Point = Math.abs(n[0]) <= Math.abs(n[1]) && Math.abs(n[0]) <= Math.abs(n[2])
    ? [1, 0, 0] : Math.abs(n[1]) <= Math.abs(n[2]) ? [0, 1, 0] : [0, 0, 1];
  const one = unit(cross(n, least));
  return [one, cross(n, one)];
}

/** The angle between two directions, 0 to a half turn, steady near nought too. */
export function angle(a: Point, b: Point): number {
  return Math.atan2(length(cross(a, b)), dot(a, b));
}
