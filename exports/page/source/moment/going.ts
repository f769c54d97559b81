/** Going to a step from another tab. */

import { batch } from "@preact/signals";
import { playing, share, step, tab } from "../state.ts";
import type { Walk } from "../walk.ts";

/** Show a step of the order, as it is once it is done. */
export function goTo(index: number): void {
  batch(() => {
    playing.value = false;
    step.value = index;
    share.value = 1;
    tab.value = "order";
  });
}

/** The step at which a finding shows: the first that names it, else the first of its stage; null where there is none. */
export function stepOfFinding(walk: Walk, index: number): number | null {
  const named = walk.steps.findIndex((step) => step.findings.includes(index));
  if (named >= 0) return named;
  const stage = walk.findings[index]?.stage ?? null;
  return stage === null ? null : (walk.stages[stage]?.first ?? null);
}

/** The step at which a part comes: the first that moves it, else the first of its stage; null where there is none. */
export function stepOfPart(walk: Walk, part: number): number | null {
  const moved = walk.steps.findIndex((step) => step.moves.some((move) => move.parts.includes(part)));
  if (moved >= 0) return moved;
  const stage = walk.parts[part]?.stage ?? null;
  return stage === null ? null : (walk.stages[stage]?.first ?? null);
}
