/** Frames: three rows of four numbers, rotation and place, mm. */

import type { Box, Frame, Point } from "../walk.ts";
import { add, cross, dot, minus, times as scaled } from "./vectors.ts";

/** Four numbers of a rotation: w, x, y, z, together of length one. */
export type Quaternion = [number, number, number, number];

/** Where a frame carries a point. */
export function carried(f: Frame, p: Point): Point {
  return add(turned(f, p), [f[3], f[7], f[11]]);
}

/** Where a frame turns a direction. */
export function turned(f: Frame, d: Point): Point {
  return [
    f[0] * d[0] + f[1] * d[1] + f[2] * d[2],
    f[4] * d[0] + f[5] * d[1] + f[6] * d[2],
    f[8] * d[0] + f[9] * d[1] + f[10] * d[2],
  ];
}

/** The frame shifted by mm. */
export function shifted(f: Frame, by: Point): Frame {
  return [f[0], f[1], f[2], f[3] + by[0], f[4], f[5], f[6], f[7] + by[1], f[8], f[9], f[10], f[11] + by[2]];
}

/** The middle of a box that a frame carries. */
export function middleOf(f: Frame, box: Box): Point {
  return carried(f, scaled(add(box[0], box[1]), 0.5));
}

/** The upright box around a box that a frame carries. */
export function boxOf(f: Frame, box: Box): Box {
  const low: Point = [Infinity, Infinity, Infinity];
  const high: Point = [-Infinity, -Infinity, -Infinity];
  for (let corner = 0; corner < 8; corner++) {
    const p = carried(f, [
      box[corner & 1 ? 1 : 0][0], box[corner & 2 ? 1 : 0][1], box[corner & 4 ? 1 : 0][2],
    ]);
    for (const axis of [0, 1, 2] as const) {
      low[axis] = Math.min(low[axis], p[axis]);
      high[axis] = Math.max(high[axis], p[axis]);
    }
  }
  return [low, high];
}

/** The box around boxes; null around none. */
export function boxAround(boxes: readonly Box[]): Box | null {
  let around: Box | null = null;
  for (const box of boxes) {
    around = around === null ? box : [
      [Math.min(around[0][0], box[0][0]), Math.min(around[0][1], box[0][1]), Math.min(around[0][2], box[0][2])],
      [Math.max(around[1][0], box[1][0]), Math.max(around[1][1], box[1][1]), Math.max(around[1][2], box[1][2])],
    ];
  }
  return around;
}

/** The rotation of a frame as a quaternion (Shepperd 1978: by the largest of the four). */
export function quaternionOf(f: Frame): Quaternion {
  const [a, b, c] = [f[0], f[5], f[10]];
  const four: Quaternion = [1 + a + b + c, 1 + a - b - c, 1 - a + b - c, 1 - a - b + c];
  const most = four.indexOf(Math.max(...four));
  const root = Math.sqrt(Math.max(four[most]!, 0)) * 2;
  const quarter = root / 4;
  if (most === 0) return [quarter, (f[9] - f[6]) / root, (f[2] - f[8]) / root, (f[4] - f[1]) / root];
  if (most === 1) return [(f[9] - f[6]) / root, quarter, (f[1] + f[4]) / root, (f[2] + f[8]) / root];
  if (most === 2) return [(f[2] - f[8]) / root, (f[1] + f[4]) / root, quarter, (f[6] + f[9]) / root];
  return [(f[4] - f[1]) / root, (f[2] + f[8]) / root, (f[6] + f[9]) / root, quarter];
}

/** The frame of a rotation that carries `from` to `to`. */
function frameOf([w, x, y, z]: Quaternion, from: Point, to: Point): Frame {
  const f: Frame = [
    1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y), 0,
    2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x), 0,
    2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y), 0,
  ];
  return shifted(f, minus(to, turned(f, from)));
}

/** One frame after another: what stands in the second, carried by the first. */
export function times(one: Frame, other: Frame): Frame {
  const [i, j, k] = [0, 1, 2].map((c) => turned(one, [other[c]!, other[4 + c]!, other[8 + c]!])) as [Point, Point, Point];
  const t = carried(one, [other[3], other[7], other[11]]);
  return [i[0], j[0], k[0], t[0], i[1], j[1], k[1], t[1], i[2], j[2], k[2], t[2]];
}

/** The frame that undoes a rigid one. */
export function inverse(f: Frame): Frame {
  const back: Frame = [f[0], f[4], f[8], 0, f[1], f[5], f[9], 0, f[2], f[6], f[10], 0];
  return shifted(back, scaled(turned(back, [f[3], f[7], f[11]]), -1));
}

/** The rotation at a share of the shorter way between two (Shoemake 1985). */
export function slerp(one: Quaternion, other: Quaternion, share: number): Quaternion {
  const near = one[0] * other[0] + one[1] * other[1] + one[2] * other[2] + one[3] * other[3];
  const end = near < 0 ? other.map((n) => -n) : other;
  const half = Math.acos(Math.min(1, Math.abs(near)));
  const sine = Math.sin(half);
  const [p, q] = sine < 1e-9 ? [1 - share, share] : [Math.sin((1 - share) * half) / sine, Math.sin(share * half) / sine];
  const mixed = one.map((n, i) => n * p + end[i]! * q) as Quaternion;
  const size = Math.hypot(...mixed);
  return mixed.map((n) => n / size) as Quaternion;
}

/** The share of a rigid motion: a body turns about its middle, which goes straight to where the motion carries it.
 * A motion that mirrors cannot be swung: it is not there before half, and all there after. */
export function swungBy(motion: Frame, centre: Point, share: number): Frame {
  const end = carried(motion, centre);
  if (mirrors(motion)) return share < 0.5 ? STILL : motion;
  return frameOf(slerp([1, 0, 0, 0], quaternionOf(motion), share), centre, add(scaled(centre, 1 - share), scaled(end, share)));
}

const STILL: Frame = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0];

function mirrors(f: Frame): boolean {
  return dot(cross([f[0], f[4], f[8]], [f[1], f[5], f[9]]), [f[2], f[6], f[10]]) < 0;
}
