/** The finished work in its pieces: spread apart along the proven ways, with the chosen piece marked. */

import { shifted } from "../measure/frames.ts";
import { times } from "../measure/vectors.ts";
import type { Moment, Placed, Role } from "../moment.ts";
import type { Walk } from "../walk.ts";
import { boxOfPieces, grainArrow, pencilled, short, topOf } from "./marks.ts";

export interface How {
  /** How far all is spread, 0 to 1. */
  apart: number;
  piece: number | null;
  hidden: ReadonlySet<number>;
  /** Whether the chosen piece is shown alone. */
  alone: boolean;
  /** Pieces lit up beside the chosen one: those of its mark. */
  lit?: ReadonlySet<number>;
}

/** Return what is drawn of the finished work in its pieces. */
export function ofPieces(walk: Walk, how: How): Moment {
  const only = how.alone && how.piece !== null ? how.piece : null;
  const pieces: Placed[] = [];
  walk.parts.forEach((part, index) => {
    if (part.home === null || (only === null ? how.hidden.has(index) : only !== index)) return;
    const at = shifted(part.home, times(part.apart, how.apart));
    pieces.push({ part: index, shape: part.shape, at, role: roleOf(index, how), seen: 1 });
  });
  const moment: Moment = {
    pieces, aids: [], arrows: [], signs: [], lines: [],
    ground: how.apart > 0 || only !== null ? null : { on: "floor", top: null },
    box: boxOfPieces(walk, pieces) ?? walk.box,
    look: only === null ? "pieces" : `pieces: ${only} alone`,
  };
  for (const placed of pieces) {
    if (placed.part === how.piece) mark(walk, placed, moment);
    if (only !== null) continue;
    if (placed.part === how.piece) label(walk, placed, moment);
    else if (how.lit?.has(placed.part) && how.lit.size <= LABELLED) label(walk, placed, moment);
  }
  return moment;
}

function roleOf(index: number, how: How): Role {
  if (index === how.piece) return "moving";
  if (how.lit?.has(index)) return "right";
  return how.piece === null ? "wood" : "around";
}

function mark(walk: Walk, placed: Placed, moment: Moment): void {
  const part = walk.parts[placed.part]!;
  const box = walk.shapes[placed.shape]!.box;
  moment.arrows.push(grainArrow(part.grain, placed.at, box));
  for (const pencil of part.pencil) {
    const drawn = pencilled(pencil, placed.at, box, true);
    moment.arrows.push(...drawn.arrows);
    moment.lines.push(...drawn.lines);
    moment.signs.push(...drawn.signs);
  }
}

/** Of more pieces lit up than these the outline alone tells. */
const LABELLED = 40;

function label(walk: Walk, placed: Placed, moment: Moment): void {
  const { mark: pencilledOn, name } = walk.parts[placed.part]!;
  moment.signs.push({ at: topOf(walk, placed), look: "label", says: short(pencilledOn || name, 24) });
}
