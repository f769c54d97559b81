/** The glue-up that is being done: begun, ticked, undone, stopped; kept through a reload. */

import { computed, signal } from "@preact/signals";
import { tab, walk } from "../state.ts";
import { reading, stepsOf, touched } from "./clock.ts";
import type { Reading } from "./clock.ts";
import { goTo } from "./player.ts";
import { keep, keyOf, runsOf, underWay } from "./record.ts";
import type { Run, Shelf } from "./record.ts";

/** What tells the time, ms; another one in tests. */
export const time = { now: () => Date.now() };

/** The stage (index) whose glue-up is being done, or null. */
export const running = signal<number | null>(null);
export const run = signal<Run | null>(null);
/** The time as the clock on the card shows it. */
export const ticking = signal(0);
/** Whether what is done can be kept through a reload. */
export const kept = signal(true);
/** Counts up when the kept runs change. */
const changed = signal(0);
/** The hand that holds the phone: where the thumb is. */
export const hand = signal<"left" | "right">("right");
export const beeps = signal(false);

export const clock = computed<Reading | null>(() => {
  const index = running.value;
  const stage = index === null ? undefined : walk.value.stages[index];
  if (!stage || !run.value) return null;
  return reading(stage, stepsOf(stage, walk.value.steps), run.value.touches, Math.max(ticking.value, run.value.started));
});

export function shelf(): Shelf | null {
  try {
    return globalThis.localStorage;
  } catch {
    return null;
  }
}

/** The runs of a stage that are kept. */
export function earlier(index: number): Run[] {
  void changed.value;
  const stage = walk.value.stages[index];
  return stage ? runsOf(shelf(), keyOf(walk.value, stage), stepsOf(stage, walk.value.steps)) : [];
}

function store(now: Run, index: number): void {
  const stage = walk.value.stages[index];
  if (!stage) return;
  const others = earlier(index).filter((one) => one.started !== now.started);
  kept.value = keep(shelf(), keyOf(walk.value, stage), [...others, now]);
  changed.value += 1;
}

/** Shows the step that is to be done; at the end the last one, with its clamps on. */
function show(index: number): void {
  const stage = walk.value.stages[index];
  const at = clock.value?.step;
  if (!stage || at === undefined) return;
  const steps = stepsOf(stage, walk.value.steps).length;
  goTo(stage.first + Math.min(at, steps - 1));
}

/** Takes up a stage's run where it was left, or begins one. */
export function begin(index: number): void {
  const stage = walk.value.stages[index];
  if (!stage) return;
  const now = time.now();
  const count = stepsOf(stage, walk.value.steps).length;
  run.value = underWay(earlier(index), now) ?? { started: now, ended: null, touches: [], steps: count };
  ticking.value = now;
  running.value = index;
  tab.value = "order";
  store(run.value, index);
  show(index);
}

/** After a reload: the run that was under way, in whichever stage. */
export function resume(): boolean {
  const now = time.now();
  const index = walk.value.stages.findIndex((_, k) => underWay(earlier(k), now) !== null);
  if (index < 0) return false;
  begin(index);
  return true;
}

/** A second touch so soon, ms, is the same thumb coming to rest. */
const SAME_THUMB = 400;

export function touch(): void {
  const index = running.value;
  const stage = index === null ? undefined : walk.value.stages[index];
  if (index === null || !stage || !run.value) return;
  const now = time.now();
  const latest = run.value.touches[run.value.touches.length - 1]?.at ?? -Infinity;
  if (now - latest >= 0 && now - latest < SAME_THUMB) return;
  ticking.value = now;
  const touches = touched(stage, stepsOf(stage, walk.value.steps), run.value.touches, now);
  run.value = { ...run.value, touches };
  store(run.value, index);
  show(index);
}

export function undo(): void {
  const index = running.value;
  if (index === null || !run.value || run.value.touches.length === 0) return;
  run.value = { ...run.value, touches: run.value.touches.slice(0, -1) };
  ticking.value = time.now();
  store(run.value, index);
  show(index);
}

/** Ends the run, done or not. */
export function end(): void {
  const index = running.value;
  if (index !== null && run.value) store({ ...run.value, ended: time.now() }, index);
  running.value = null;
  run.value = null;
}
