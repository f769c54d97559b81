/** What was done of a glue-up, kept in the browser, so that it survives a reload: under the work's title and what the
 * stage consists of, so that a changed stage begins anew. */

import type { Stage, Step, Walk } from "../walk.ts";
import { MINUTE } from "./clock.ts";
import type { Touch } from "./clock.ts";

export interface Run { started: number; ended: number | null; touches: Touch[]; steps: number }

/** The few things of a browser's storage that are needed; a browser that keeps nothing gives null. */
export interface Shelf {
  getItem(key: string): string | null;
  setItem(key: string, value: string): void;
}

/** Runs kept of one stage. */
const KEPT = 5;
/** A run that was left so long ago, ms, is not taken up again: its glue has set. */
const STALE = 24 * 60 * MINUTE;

export function keyOf(walk: Walk, stage: Stage): string {
  const steps = walk.steps.slice(stage.first, stage.end)
    .map((step) => [step.kind, step.title, step.glue, step.moves.map((motion) => motion.parts)]);
  return `dryfit run: ${walk.title.slice(0, 60)}: ${stage.number}: ${sumOf(JSON.stringify([walk.title, stage.name, stage.time, steps]))}`;
}

/** A short number for a text (FNV-1a, 32 bits, Fowler, Noll and Vo). */
function sumOf(text: string): string {
  let sum = 0x811c9dc5;
  for (let k = 0; k < text.length; k++) sum = Math.imul(sum ^ text.charCodeAt(k), 0x01000193);
  return (sum >>> 0).toString(16).padStart(8, "0");
}

/** The runs kept under a key, the newest last; what cannot be read counts as none. */
export function runsOf(shelf: Shelf | null, key: string, steps: readonly Step[]): Run[] {
  try {
    const kept: unknown = JSON.parse(shelf?.getItem(key) ?? "[]");
    return Array.isArray(kept) ? kept.filter((one) => isRun(one, steps.length)) : [];
  } catch {
    return [];
  }
}

/** Keeps the newest runs, and returns whether that could be done. */
export function keep(shelf: Shelf | null, key: string, runs: readonly Run[]): boolean {
  try {
    shelf?.setItem(key, JSON.stringify(runs.slice(-KEPT)));
    return shelf !== null;
  } catch {
    return false;
  }
}

/** The run that is under way, if one is. */
export function underWay(runs: readonly Run[], now: number): Run | null {
  const last = runs[runs.length - 1];
  if (!last || last.ended !== null) return null;
  const latest = last.touches[last.touches.length - 1]?.at ?? last.started;
  return now - latest < STALE ? last : null;
}

function isRun(value: unknown, steps: number): value is Run {
  if (typeof value !== "object" || value === null) return false;
  const run = value as Partial<Run>;
  return Number.isFinite(run.started) && (run.ended === null || Number.isFinite(run.ended)) && run.steps === steps &&
    Array.isArray(run.touches) && run.touches.every((touch: unknown) => isTouch(touch, steps));
}

function isTouch(value: unknown, steps: number): boolean {
  if (typeof value !== "object" || value === null) return false;
  const touch = value as Partial<Touch>;
  return Number.isInteger(touch.step) && touch.step! >= 0 && touch.step! < steps && Number.isFinite(touch.at) &&
    (touch.what === "begun" || touch.what === "done");
}
