/** The clock of a glue-up that is being done: what was ticked when, what glue lies open, what has to close next. Pure.
 *
 * A batch is what is spread together: its glue lies open from the touch with which spreading begins until the last
 * move before the next spreading is done. What is closed waits, from the first closing of glue on, until the last
 * clamp is set.
 */

import type { Stage, Step } from "../walk.ts";

export const MINUTE = 60_000;
/** Warned is this long before a limit, or at this share of it, whichever comes first; never before half of it. */
const WARN_MS = 2 * MINUTE;
const WARN_SHARE = 0.2;

/** One touch: spreading that begins, or a step (counted from the stage's first) that is done; `at` as the clock tells. */
export interface Touch { step: number; what: "begun" | "done"; at: number }

export interface Limit {
  what: "open" | "closed";
  /** Of the closest limit: when it began, when it is over, how long that is and how much is left, ms. */
  since: number;
  until: number;
  whole: number;
  left: number;
  /** The steps (counted from the stage's first) by the end of which it is kept. */
  by: number;
}

export interface Reading {
  /** The step that is to be done now; the number of steps when all are. */
  step: number;
  /** Whether the step is a spreading that has not begun: the next touch starts its glue's time. */
  begins: boolean;
  /** Since the first glue, ms; null before. */
  gone: number | null;
  /** All limits that run, the closest first. */
  limits: Limit[];
  state: "before glue" | "calm" | "soon" | "over" | "between" | "done";
}

/** The steps of a glue-up: all of the stage's up to where it only waits. */
export function stepsOf(stage: Stage, steps: readonly Step[]): Step[] {
  const own = steps.slice(stage.first, stage.end);
  const wait = own.findIndex((step) => step.kind === "wait" || step.kind === "take away" || step.kind === "cut");
  return wait < 0 ? own : own.slice(0, wait);
}

export function canRun(stage: Stage, steps: readonly Step[]): boolean {
  return stepsOf(stage, steps).some((step) => step.kind === "spread");
}

export interface Batch { spread: number; last: number }

/** What is spread together, with the step at whose end it is closed: the last move before the next spreading. */
export function batches(steps: readonly Step[]): Batch[] {
  const found: Batch[] = [];
  let last: number | null = null;
  let following: number | null = null;
  for (let index = steps.length - 1; index >= 0; index--) {
    const kind = steps[index]!.kind;
    if (kind === "move") last ??= index;
    if (kind !== "spread") continue;
    following = last ?? following;
    found.unshift({ spread: index, last: following ?? index });
    last = null;
  }
  return found;
}

/** What the clock says at a moment. */
export function reading(stage: Stage, steps: readonly Step[], touches: readonly Touch[], now: number): Reading {
  const done = new Map(touches.filter((one) => one.what === "done").map((one) => [one.step, one.at]));
  const begun = new Map(touches.filter((one) => one.what === "begun").map((one) => [one.step, one.at]));
  const step = nextOf(steps, done);
  const all = batches(steps);
  const first = all.map((batch) => begun.get(batch.spread) ?? done.get(batch.spread)).find((at) => at !== undefined);
  const limits = [...opened(stage, all, begun, done, now), ...closedWait(stage, steps, all, done, now)];
  limits.sort((a, b) => a.left - b.left);
  const current = steps[step];
  return {
    step, begins: current?.kind === "spread" && !begun.has(step), gone: first === undefined ? null : now - first, limits,
    state: stateOf(limits[0], step >= steps.length, first !== undefined),
  };
}

function nextOf(steps: readonly Step[], done: ReadonlyMap<number, number>): number {
  const next = steps.findIndex((_, index) => !done.has(index));
  return next < 0 ? steps.length : next;
}

function opened(stage: Stage, all: readonly Batch[], begun: ReadonlyMap<number, number>,
  done: ReadonlyMap<number, number>, now: number): Limit[] {
  const whole = stage.time.open * MINUTE;
  if (!(whole > 0)) return [];
  return all.flatMap((batch): Limit[] => {
    const since = begun.get(batch.spread) ?? done.get(batch.spread);
    if (since === undefined || done.has(batch.last)) return [];
    return [{ what: "open", since, until: since + whole, whole, left: since + whole - now, by: batch.last }];
  });
}

/** From the first closing of glued joints until the last clamp is set; nothing where no clamp is set. */
function closedWait(stage: Stage, steps: readonly Step[], all: readonly Batch[], done: ReadonlyMap<number, number>,
  now: number): Limit[] {
  const whole = stage.time.closed * MINUTE;
  const clamps = steps.flatMap((step, index) => (step.kind === "clamp" ? [index] : []));
  const by = clamps[clamps.length - 1];
  const spread = all[0]?.spread;
  if (!(whole > 0) || by === undefined || spread === undefined || done.has(by)) return [];
  const closings = steps.flatMap((step, index) => (index > spread && step.kind === "move" ? done.get(index) ?? [] : []));
  if (closings.length === 0) return [];
  const since = Math.min(...closings);
  return [{ what: "closed", since, until: since + whole, whole, left: since + whole - now, by }];
}

export function warnsAt(whole: number): number {
  return Math.min(whole / 2, Math.max(WARN_MS, WARN_SHARE * whole));
}

function stateOf(closest: Limit | undefined, finished: boolean, glue: boolean): Reading["state"] {
  if (finished) return "done";
  if (!closest) return glue ? "between" : "before glue";
  if (closest.left <= 0) return "over";
  return closest.left <= warnsAt(closest.whole) ? "soon" : "calm";
}

/** The touches with one more, for what is to be done now. */
export function touched(stage: Stage, steps: readonly Step[], touches: readonly Touch[], now: number): Touch[] {
  const { step, begins } = reading(stage, steps, touches, now);
  if (step >= steps.length) return [...touches];
  return [...touches, { step, what: begins ? "begun" : "done", at: now }];
}

/** "12:05", "1:02:05"; a time that is past shows how long it is past. */
export function counted(ms: number): string {
  const seconds = Math.floor(Math.abs(ms) / 1000);
  const [hours, minutes] = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60];
  const tail = String(seconds % 60).padStart(2, "0");
  return hours > 0 ? `${hours}:${String(minutes).padStart(2, "0")}:${tail}` : `${minutes}:${tail}`;
}
