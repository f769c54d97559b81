/** The cut plane: where it stands, what it takes off, and the outline of what it cuts. */

import type { Moment } from "../moment.ts";
import type { Cut } from "../state.ts";
import type { Box, Point } from "../walk.ts";
import type { Solid } from "./arrays.ts";
import { boxAt, dot, placed, turnedBack } from "./space.ts";

/** What lies where `dot(normal, p) > offset` is taken off. */
export interface Plane { normal: Point; offset: number }

/** The plane of a cut through a box. */
export function planeOf(cut: Cut, box: Box): Plane {
  const [low, high] = [box[0][cut.axis], box[1][cut.axis]];
  const sign = cut.flipped ? -1 : 1;
  const normal: Point = [0, 0, 0];
  normal[cut.axis] = sign;
  return { normal, offset: sign * (low + (high - low) * cut.at) };
}

/** Whether a point is taken off. */
export const takenOff = (plane: Plane | null, p: Point): boolean => plane !== null && dot(plane.normal, p) > plane.offset + 1e-6;

/** The outline of the cut through all pieces of a moment, as pairs of points (xyz each). */
export function outline(moment: Moment, plane: Plane, solid: (shape: number) => Solid | null): number[] {
  const found: number[] = [];
  for (const piece of [...moment.pieces, ...moment.aids]) {
    const body = solid(piece.shape);
    if (!body || ("role" in piece && (piece.role === "ghost" || piece.role === "around"))) continue;
    const box = boxAt(piece.at, body.box);
    const side = (far: boolean): number =>
      plane.normal.reduce((sum, n, i) => n === 0 ? sum : sum + n * box[(n > 0) === far ? 1 : 0][i]!, 0);
    if (side(true) < plane.offset || side(false) > plane.offset) continue;
    section(body, turnedBack(piece.at, plane.normal), plane.offset - dot(plane.normal, [piece.at[3], piece.at[7], piece.at[11]]),
      (p) => { found.push(...placed(piece.at, p)); });
  }
  return found;
}

/** Cut a solid, in its own frame; every pair of points that is told is a piece of the outline. */
function section(solid: Solid, normal: Point, offset: number, tell: (p: Point) => void): void {
  const { corners, triangles } = solid;
  const point = (k: number): Point => [corners[k * 3]!, corners[k * 3 + 1]!, corners[k * 3 + 2]!];
  const high = new Float64Array(corners.length / 3);
  for (let k = 0; k < high.length; k++) high[k] = dot(normal, point(k)) - offset || 1e-9;
  for (let i = 0; i < triangles.length; i += 3) {
    const three = [triangles[i]!, triangles[i + 1]!, triangles[i + 2]!];
    const over = three.filter((k) => high[k]! > 0);
    if (over.length === 0 || over.length === 3) continue;
    const lone = over.length === 1 ? over[0]! : three.find((k) => high[k]! <= 0)!;
    for (const other of three) {
      if (other === lone) continue;
      const share = high[lone]! / (high[lone]! - high[other]!);
      const [a, b] = [point(lone), point(other)];
      tell([a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share, a[2] + (b[2] - a[2]) * share]);
    }
  }
}
