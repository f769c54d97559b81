/** A solid's triangles and folds as the arrays that are drawn: normals by facet, smoothed over faceted curves. */

import type { Solid } from "./arrays.ts";

/** Facets that meet at less than this are a curve and shaded as one. */
const CURVE = Math.cos(18 * Math.PI / 180);

export interface Facets { positions: Float32Array; normals: Float32Array; index: Uint32Array }

/** Unit normals of the triangles, and twice their areas. */
function facetNormals(solid: Solid): { normals: Float32Array; areas: Float32Array } {
  const { corners: c, triangles: t } = solid;
  const normals = new Float32Array(t.length);
  const areas = new Float32Array(t.length / 3);
  for (let i = 0; i < t.length; i += 3) {
    const [a, b, d] = [t[i]! * 3, t[i + 1]! * 3, t[i + 2]! * 3];
    const [ux, uy, uz] = [c[b]! - c[a]!, c[b + 1]! - c[a + 1]!, c[b + 2]! - c[a + 2]!];
    const [vx, vy, vz] = [c[d]! - c[a]!, c[d + 1]! - c[a + 1]!, c[d + 2]! - c[a + 2]!];
    const [x, y, z] = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
    const size = Math.sqrt(x * x + y * y + z * z);
    areas[i / 3] = size;
    normals.set(size > 0 ? [x / size, y / size, z / size] : [0, 0, 1], i);
  }
  return { normals, areas };
}

/** Which triangles meet at each corner: those of corner k stand in `list` from `start[k]` to `start[k + 1]`. */
function meeting(solid: Solid): { start: Uint32Array; list: Uint32Array } {
  const { triangles: t } = solid;
  const start = new Uint32Array(solid.corners.length / 3 + 1);
  for (const corner of t) start[corner + 1]!++;
  for (let k = 1; k < start.length; k++) start[k]! += start[k - 1]!;
  const next = start.slice();
  const list = new Uint32Array(t.length);
  for (let i = 0; i < t.length; i++) list[next[t[i]!]!++] = Math.floor(i / 3);
  return { start, list };
}

/** The arrays to draw; corners that share place and normal are one. */
export function facets(solid: Solid): Facets {
  const { triangles: t, corners } = solid;
  const { normals, areas } = facetNormals(solid);
  const { start, list } = meeting(solid);
  const index = new Uint32Array(t.length);
  const [positions, found] = [[] as number[], [] as number[]];
  const made = Array.from({ length: corners.length / 3 }, () => [] as number[]);
  for (let i = 0; i < t.length; i++) {
    const [corner, own] = [t[i]!, Math.floor(i / 3) * 3];
    let [x, y, z] = [0, 0, 0];
    for (let k = start[corner]!; k < start[corner + 1]!; k++) {
      const n = list[k]! * 3;
      const alike = normals[n]! * normals[own]! + normals[n + 1]! * normals[own + 1]! + normals[n + 2]! * normals[own + 2]!;
      if (alike < CURVE) continue;
      const weight = areas[list[k]!]!;
      x += normals[n]! * weight; y += normals[n + 1]! * weight; z += normals[n + 2]! * weight;
    }
    const size = Math.sqrt(x * x + y * y + z * z);
    if (size > 0) { x /= size; y /= size; z /= size; } else [x, y, z] = [normals[own]!, normals[own + 1]!, normals[own + 2]!];
    const same = made[corner]!.find((m) =>
      Math.abs(found[m * 3]! - x) + Math.abs(found[m * 3 + 1]! - y) + Math.abs(found[m * 3 + 2]! - z) < 1e-4);
    if (same !== undefined) { index[i] = same; continue; }
    index[i] = positions.length / 3;
    made[corner]!.push(index[i]!);
    positions.push(corners[corner * 3]!, corners[corner * 3 + 1]!, corners[corner * 3 + 2]!);
    found.push(x, y, z);
  }
  return { positions: new Float32Array(positions), normals: new Float32Array(found), index };
}

/** Numbers of one corner of a drawn line: its ends (xyz each), which end it is at (0, 1) and on which side (-1, 1). */
export const STROKE = 8;

export interface Strokes { corners: Float32Array; index: Uint32Array }

/** Lines as narrow rectangles, widened where they are drawn: `ends` holds pairs of points, xyz each. */
export function strokes(ends: ArrayLike<number>): Strokes {
  const count = ends.length / 6;
  const corners = new Float32Array(count * 4 * STROKE);
  const index = new Uint32Array(count * 6);
  for (let i = 0; i < count; i++) {
    for (let k = 0; k < 4; k++) {
      const at = (i * 4 + k) * STROKE;
      for (let j = 0; j < 6; j++) corners[at + j] = ends[i * 6 + j]!;
      corners[at + 6] = k >> 1;
      corners[at + 7] = k & 1 ? 1 : -1;
    }
    index.set([0, 1, 2, 2, 1, 3].map((k) => i * 4 + k), i * 6);
  }
  return { corners, index };
}

/** The folds of a solid as pairs of points. */
export function folds(solid: Solid): Float32Array {
  const ends = new Float32Array(solid.edges.length * 3);
  solid.edges.forEach((corner, i) => { ends.set(solid.corners.subarray(corner * 3, corner * 3 + 3), i * 3); });
  return ends;
}
