/** The rule's measure: where each step lies along it, which ticks there is room for, and back from a place to a step. */

import type { Walk } from "../walk.ts";

/** Ticks closer than this, px, run into one another. */
const TICKS_LEAST = 4;
/** Notches closer than this, px, are drawn as one. */
const NOTCHES_LEAST = 14;
/** Every how many steps a tick is drawn when there is no room for all, and every how many a longer one. */
const EVERY = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];
const LONGER = 5;

export interface Tick { x: number; length: "step" | "fifth" | "stage" }
export interface Figure { x: number; says: string; stage: number }
export interface Notch { x: number; severity: "stop" | "warn" | "note"; count: number }
export interface Rule { width: number; margin: number; ticks: Tick[]; figures: Figure[]; notches: Notch[] }

/** A place in the order as one number: 0 before anything, k + 1 with step k done. */
export function placeOf(step: number, share: number): number {
  return step + share;
}

/** The step and share at a place; a whole number is the end of a step, except 0, the beginning of the first. */
export function stepAt(place: number, steps: number): { step: number; share: number } {
  const kept = Math.min(steps, Math.max(0, Number.isFinite(place) ? place : 0));
  const step = Math.max(0, Math.ceil(kept) - 1);
  return { step, share: kept - step };
}

export function xAt(place: number, steps: number, width: number, margin: number): number {
  return margin + (place / Math.max(1, steps)) * (width - 2 * margin);
}

export function placeAt(x: number, steps: number, width: number, margin: number): number {
  const along = (x - margin) / Math.max(1, width - 2 * margin);
  return Math.min(1, Math.max(0, along)) * steps;
}

/** What is drawn on a rule so wide; `figure`: the room one figure needs, px. */
export function ruleOf(walk: Walk, width: number, margin: number, figure: number): Rule {
  const steps = walk.steps.length;
  return { width, margin, ticks: ticks(walk, width, margin), figures: figures(walk, width, margin, figure),
    notches: notches(walk, (place) => xAt(place, steps, width, margin)) };
}

function ticks(walk: Walk, width: number, margin: number): Tick[] {
  const steps = walk.steps.length;
  const apart = (width - 2 * margin) / Math.max(1, steps);
  const every = EVERY.find((few) => few * apart >= TICKS_LEAST) ?? steps;
  const found: Tick[] = [];
  const starts = new Set(walk.stages.map((stage) => stage.first));
  let begun = 0;
  for (let place = 0; place <= steps; place++) {
    if (starts.has(place)) begun = place;
    const inStage = place - begun;
    const longer = (inStage / every) % LONGER === 0 && inStage > 0;
    if (starts.has(place) || place === steps) found.push({ x: xAt(place, steps, width, margin), length: "stage" });
    else if (inStage % every === 0) found.push({ x: xAt(place, steps, width, margin), length: longer ? "fifth" : "step" });
  }
  return found;
}

function figures(walk: Walk, width: number, margin: number, figure: number): Figure[] {
  const found: Figure[] = [];
  walk.stages.forEach((stage, index) => {
    const x = xAt(stage.first, walk.steps.length, width, margin);
    const last = found[found.length - 1];
    if ((!last || x - last.x >= figure) && x + figure <= width) found.push({ x, says: String(stage.number), stage: index });
  });
  return found;
}

const HARM = { stop: 2, warn: 1, note: 0 };

function notches(walk: Walk, x: (place: number) => number): Notch[] {
  const found: Notch[] = [];
  walk.steps.forEach((step, index) => {
    for (const number of step.findings) {
      const severity = walk.findings[number]?.severity;
      if (!severity) continue;
      const at = x(index + 0.5);
      const last = found[found.length - 1];
      if (last && at - last.x < NOTCHES_LEAST) {
        last.count += 1;
        if (HARM[severity] > HARM[last.severity]) last.severity = severity;
      } else found.push({ x: at, severity, count: 1 });
    }
  });
  return found;
}
