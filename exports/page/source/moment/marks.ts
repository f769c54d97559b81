/** What is drawn on a piece beside its wood: the pencil marks, its grain, and the words at them. */

import { boxAround, boxOf, carried, turned } from "../measure/frames.ts";
import { add, length, minus, square, times, unit } from "../measure/vectors.ts";
import type { Arrow, Line, Placed, Sign } from "../moment.ts";
import type { Box, Frame, Pencil, Point, Walk } from "../walk.ts";

/** How far a pencil mark is lifted off the face so that it lies on the wood, mm. */
const LIFT = 0.5;

export interface Drawn { arrows: Arrow[]; signs: Sign[]; lines: Line[] }

/** Words at a place in the work: no more than fit beside it; the card has them all. */
export function short(words: string, most = 90): string {
  return words.length <= most ? words : `${words.slice(0, most - 1).trimEnd()}…`;
}

/** A pencil mark on a piece that stands at a frame: a cross, or an arrow, and its words. */
export function pencilled(mark: Pencil, at: Frame, box: Box, spoken: boolean): Drawn {
  const out = unit(turned(at, mark.out));
  const spot = add(carried(at, mark.at), times(out, LIFT));
  const size = markSize(box);
  const drawn: Drawn = { arrows: [], signs: [], lines: [] };
  if (mark.arrow !== null) {
    const way = turned(at, mark.arrow);
    const reach = length(way) > 2 ? way : times(unit(way), 2.5 * size);
    drawn.arrows.push({ from: spot, to: add(spot, reach), look: "turn" });
  } else {
    const [u, v] = square(out);
    for (const [p, q] of [[1, 1], [1, -1]] as const) {
      const arm = add(times(u, (p * size) / 2), times(v, (q * size) / 2));
      drawn.lines.push({ points: [minus(spot, arm), add(spot, arm)], look: "pencil" });
    }
  }
  if (spoken) drawn.signs.push({ at: spot, look: "pencil", says: short(mark.says.split(";")[0]!) });
  return drawn;
}

/** A mark is as large as the wood lets it be, 12 to 60 mm. */
function markSize(box: Box): number {
  const sides = minus(box[1], box[0]).sort((a, b) => a - b);
  return Math.min(60, Math.max(12, sides[1]! * 0.5));
}

/** The arrow along the fibres, beside the wood's middle and a little out of it, so that it is seen. */
export function grainArrow(grain: Point, at: Frame, box: Box): Arrow {
  const size = minus(box[1], box[0]);
  const reach = Math.abs(size[0] * grain[0]) + Math.abs(size[1] * grain[1]) + Math.abs(size[2] * grain[2]);
  const middle = times(add(box[0], box[1]), 0.5);
  const off = add(middle, [0, 0, size[2] / 2 + Math.max(6, 0.15 * size[2])]);
  const half = times(unit(grain), reach * 0.3);
  return { from: carried(at, minus(off, half)), to: carried(at, add(off, half)), look: "grain" };
}

/** The upright box around pieces that stand in a scene. */
export function boxOfPieces(walk: Walk, pieces: readonly Placed[]): Box | null {
  return boxAround(pieces.map((p) => boxOf(p.at, walk.shapes[p.shape]!.box)));
}

/** The middle of the top of the upright box around a piece: where its label stands. */
export function topOf(walk: Walk, piece: { shape: number; at: Frame }): Point {
  const [low, high] = boxOf(piece.at, walk.shapes[piece.shape]!.box);
  return [(low[0] + high[0]) / 2, (low[1] + high[1]) / 2, high[2]];
}
