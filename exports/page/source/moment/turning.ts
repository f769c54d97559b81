/** Where pieces are on their swing from the wrong way round to the right one. */

import { boxAround, boxOf, carried, inverse, middleOf, swungBy, times as after } from "../measure/frames.ts";
import { between, middle } from "../measure/vectors.ts";
import type { Finding, Frame, Point, Walk, WaysRound } from "../walk.ts";

export interface Swung { part: number; at: Frame; shape: number }

/** The pieces that a finding says are turned: the one it names, and those that turn with it or changed places with it. */
export function standing(turned: Finding["turned"]): WaysRound[] {
  return turned === null ? [] : [turned, ...turned.others];
}

/** Return the pieces at a share of their swing, 0 wrong and 1 right. What turns as one body turns about its common
 * middle; a piece that turns alone, or changes its place, about its own. */
export function swings(walk: Walk, turned: Finding["turned"], share: number): Swung[] {
  const found: Swung[] = [];
  for (const { motion, pieces } of bodies(standing(turned))) {
    const box = boxAround(pieces.map((one) => boxOf(one.wrong, walk.shapes[one.wrongShape]!.box)))!;
    const centre = pieces.length === 1 ? middleOf(pieces[0]!.wrong, walk.shapes[pieces[0]!.wrongShape]!.box) : middle(...box);
    for (const one of pieces) found.push(at(one, motion, centre, share));
  }
  return found;
}

function at(one: WaysRound, motion: Frame, centre: Point, share: number): Swung {
  if (share <= 0) return { part: one.part, at: one.wrong, shape: one.wrongShape };
  if (share >= 1) return { part: one.part, at: one.right, shape: one.rightShape };
  return {
    part: one.part, at: after(swungBy(motion, centre, share), one.wrong),
    shape: share < 0.5 ? one.wrongShape : one.rightShape,
  };
}

interface Body { motion: Frame; pieces: WaysRound[] }

/** Pieces that one motion carries from wrong to right, together. */
function bodies(pieces: readonly WaysRound[]): Body[] {
  const found: Body[] = [];
  for (const one of pieces) {
    const motion = after(one.right, inverse(one.wrong));
    const body = found.find((known) => alike(known.motion, motion, one.wrong));
    if (body === undefined) found.push({ motion, pieces: [one] });
    else body.pieces.push(one);
  }
  return found;
}

/** Motions that carry a piece to within this of each other are one, mm. */
const SAME = 0.05;

function alike(one: Frame, other: Frame, piece: Frame): boolean {
  const spots: Point[] = [[0, 0, 0], [1000, 0, 0], [0, 1000, 0]];
  return spots.every((spot) => {
    const p = carried(piece, spot);
    return between(carried(one, p), carried(other, p)) < SAME;
  });
}
