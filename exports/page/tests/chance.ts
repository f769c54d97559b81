/** Numbers, directions and frames at random, the same in every run. */

import { cross, dot, unit } from "../source/measure/vectors.ts";
import type { Frame, Point } from "../source/walk.ts";

/** Numbers from 0 to 1 (Park and Miller 1988, with the factor of 1993). */
export function dice(seed: number): () => number {
  let state = seed;
  return () => (state = (state * 48271) % 2147483647) / 2147483647;
}

export function anyWay(roll: () => number): Point {
  return unit([roll() - 0.5, roll() - 0.5, roll() - 0.5]);
}

/** A rotation about any axis by any angle (Rodrigues), and a shift. */
export function anyFrame(roll: () => number): Frame {
  const n = anyWay(roll);
  const turn = (roll() - 0.5) * 2 * Math.PI;
  const spin = (v: Point): Point => {
    const [c, s] = [Math.cos(turn), Math.sin(turn)];
    const [x, d] = [cross(n, v), dot(n, v) * (1 - c)];
    return [v[0] * c + x[0] * s + n[0] * d, v[1] * c + x[1] * s + n[1] * d, v[2] * c + x[2] * s + n[2] * d];
  };
  const [i, j, k] = [spin([1, 0, 0]), spin([0, 1, 0]), spin([0, 0, 1])];
  const shift = (): number => (roll() - 0.5) * 4000;
  return [i[0], j[0], k[0], shift(), i[1], j[1], k[1], shift(), i[2], j[2], k[2], shift()];
}
