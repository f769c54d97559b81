/** A small glue-up made by hand for tests: two posts on the bench and two rails between them, a spacer that leaves, and
 * a last cut. Posts are 60 × 60 × 900 mm boxes, rails 600 × 40 × 20 mm. */

import type { Motion, Stage, Step, Walk } from "../source/walk.ts";
import { HERE, at, made, part, shape } from "./made.ts";

export const [POST_LEFT, POST_RIGHT, RAIL_LOW, RAIL_HIGH, SPACER] = [0, 1, 2, 3, 4];

export function step(kind: Step["kind"], more: Partial<Step> = {}): Step {
  return {
    id: "", kind, stage: 0, title: kind, says: [], glue: [], glued: [], parts: [], moves: [], minutes: null, people: 1, hands: [],
    leaves: [], changes: [], findings: [], ...more,
  };
}

export function move(parts: number[], way: Motion["way"], travel: number, clear: number, more: Partial<Motion> = {}): Motion {
  return { parts, onto: [], way, travel, clear, before: null, ...more };
}

/** The steps, in words: 0 ready, 1 post down, 2 glue for the low rail, 3 low rail in, 4 glue for the rest, 5 high rail in
 * by a corner, 6 the right post onto both with the spacer at the same time, 7 a clamp, 8 waiting, 9 the spacer is moved
 * off, 10 it is taken away, 11 the low rail is sawn. */
export const STEPS: Step[] = [
  step("ready"),
  step("move", { moves: [move([POST_LEFT], [0, 0, -1], 0, 0)] }),
  step("spread", { glued: [RAIL_LOW, POST_LEFT] }),
  step("move", { moves: [move([RAIL_LOW], [-1, 0, 0], 40, 60)], hands: [[100, 20, 310]] }),
  step("spread", { glued: [RAIL_HIGH] }),
  step("move", { moves: [move([RAIL_HIGH], [-1, 0, 0], 40, 120, { before: [0, 1, 0] })] }),
  step("move", { moves: [move([POST_RIGHT], [-1, 0, 0], 40, 60), move([SPACER], [0, 0, -1], 0, 50)] }),
  step("clamp"),
  step("wait"),
  step("take away", { leaves: [{ part: SPACER, by: [0, 0, 200], stays: true }] }),
  step("take away", { leaves: [{ part: SPACER, by: [300, 0, 200], stays: false }] }),
  step("cut", { changes: [{ part: RAIL_LOW, from: 0, to: 2 }] }),
].map((one, k) => ({ ...one, id: `1.${k + 1}` }));

const PLACES = [at(0, 0, 0), at(640, 0, 0), at(50, 0, 300), at(50, 0, 600), at(100, 0, 320)];
const SHAPES = [1, 1, 0, 0, 0];

export function stage(more: Partial<Stage> = {}): Stage {
  return {
    number: 1, name: "frame", title: "Stage 1: frame", on: "bench", frame: HERE, bench: [2000, 900],
    pieces: PLACES.map((place, k) => ({ part: k, at: place, shape: SHAPES[k]!, before: k === POST_RIGHT })),
    things: [{ kind: "bar", shape: 0, at: HERE, from: 7, to: 9, share: 0.5, says: "" }],
    first: 0, end: STEPS.length, box: [[0, 0, 0], [700, 100, 900]],
    time: { open: 15, closed: 20, openUsed: 5, closedUsed: 6, needed: 12, clamped: 60, load: 1440 }, people: 2, says: [], ...more,
  } as Stage;
}

export function staged(more: Partial<Walk> = {}): Walk {
  return made({
    shapes: [shape(600, 40, 20), shape(60, 60, 900), shape(580, 40, 20)],
    parts: ["post_left", "post_right", "rail_low", "rail_high"].map((name, k) => part(name, "A", { shape: SHAPES[k]!, home: PLACES[k]! }))
      .concat([part("spacer", "", { temporary: true, home: null })]),
    stages: [stage()], steps: [...STEPS, step("stands", { stage: null, id: "end" })], findings: [], ...more,
  });
}
