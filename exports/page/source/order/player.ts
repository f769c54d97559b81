/** Going through the order: a step on, a step back, and all of them one after another at a calm pace. */

import { signal } from "@preact/signals";
import { playing, share, step, tab, walk } from "../state.ts";
import { stepAt } from "./geometry.ts";
import type { Step } from "../walk.ts";

/** Whether playing goes on from one stage to the next. */
export const through = signal(false);
/** Whether a single step is being shown in motion, after Next. */
const gliding = signal(false);

/** Seconds for a move, for a step in which nothing moves, and for all of a long stage together. */
const MOVE = 1.2;
const STILL = 0.9;
const STAGE = 45;
const LEAST = 0.35;
/** Seconds of rest between two steps. */
const REST = 0.25;

/** How long a step takes when it is played, s; the steps of a long stage go faster. */
export function pace(step: Step, inStage: number): number {
  const calm = step.moves.length > 0 || step.leaves.length > 0 || step.changes.length > 0 ? MOVE : STILL;
  return Math.min(calm, Math.max(LEAST, STAGE / Math.max(1, inStage)));
}

function paceOf(index: number): number {
  const all = walk.value;
  const one = all.steps[index];
  if (!one) return MOVE;
  const stage = one.stage === null ? undefined : all.stages[one.stage];
  return pace(one, stage ? stage.end - stage.first : 1);
}

function still(): boolean {
  return typeof matchMedia === "function" && matchMedia("(prefers-reduced-motion: reduce)").matches;
}

let asked = 0;
let last: number | null = null;
let rested = 0;

function stopClock(): void {
  if (asked) cancelAnimationFrame(asked);
  asked = 0;
  last = null;
  rested = 0;
}

function startClock(): void {
  if (!asked) asked = requestAnimationFrame(frame);
}

function frame(now: number): void {
  asked = 0;
  const gone = last === null ? 0 : Math.min(0.25, (now - last) / 1000);
  last = now;
  advance(gone);
  if (playing.value || gliding.value) asked = requestAnimationFrame(frame);
  else last = null;
}

/** Moves what plays on by some seconds. */
export function advance(seconds: number): void {
  if (share.value < 1) {
    const whole = paceOf(step.value);
    if (still()) {
      rested += seconds;
      if (rested < whole) return;
      share.value = 1;
    } else share.value = Math.min(1, share.value + seconds / whole);
    if (share.value < 1) return;
    rested = 0;
    gliding.value = false;
    if (playing.value && endsHere()) pause();
    return;
  }
  if (!playing.value) {
    gliding.value = false;
    return;
  }
  rested += seconds;
  if (rested >= REST) {
    rested = 0;
    step.value += 1;
    share.value = 0;
  }
}

/** Whether playing stops once this step is done. */
function endsHere(): boolean {
  const all = walk.value;
  if (step.value >= all.steps.length - 1) return true;
  return !through.value && all.steps[step.value]!.stage !== all.steps[step.value + 1]!.stage;
}

export function pause(): void {
  playing.value = false;
  gliding.value = false;
  stopClock();
}

/** Plays on from here; from the end it begins again. */
export function play(): void {
  const all = walk.value;
  stopClock();
  gliding.value = false;
  tab.value = "order";
  if (share.value >= 1) {
    step.value = step.value >= all.steps.length - 1 ? 0 : step.value + 1;
    share.value = 0;
  }
  playing.value = true;
  startClock();
}

export function playOrPause(): void {
  if (playing.value) pause();
  else play();
}

/** Shows a step as it is when it is done. */
export function goTo(index: number, done = 1): void {
  pause();
  step.value = Math.min(Math.max(0, index), walk.value.steps.length - 1);
  share.value = Math.min(1, Math.max(0, done));
}

/** Goes on to a place between steps, as the rule is drawn along. */
export function goToPlace(place: number): void {
  const at = stepAt(place, walk.value.steps.length);
  goTo(at.step, at.share);
}

/** One step on, shown in motion; what was still moving comes home first. */
export function next(): void {
  const unfinished = share.value < 1 && !gliding.value && !playing.value;
  pause();
  if (!unfinished) {
    if (step.value >= walk.value.steps.length - 1) {
      share.value = 1;
      return;
    }
    step.value += 1;
    share.value = 0;
  }
  if (still()) share.value = 1;
  else {
    gliding.value = true;
    startClock();
  }
}

/** One step back: as it was when the step before was done. */
export function back(): void {
  goTo(step.value - 1);
}

export function nextStage(by: 1 | -1): void {
  const all = walk.value;
  const here = all.steps[step.value]?.stage ?? all.stages.length;
  const first = all.stages[here]?.first ?? all.steps.length - 1;
  if (by < 0 && step.value > first) goTo(first);
  else goTo(all.stages[here + by]?.first ?? (by < 0 ? 0 : all.steps.length - 1));
}
