/** What is drawn at a moment of the order: a stage on bench or floor, or at last the finished work. Pure. */

import type { Aid, Arrow, Line, Moment, Placed, Sign } from "../moment.ts";
import type { Box, Motion, Point, Stage, Step, Thing, Walk } from "../walk.ts";
import { along, atHome, courses, ease, moved, offset, passage, setDown, shapeAt, sum, times } from "./course.ts";
import type { Course } from "./course.ts";

/** Shares of a step in which a piece that is laid down appears, a thing appears, and what leaves fades. */
const APPEARS = 0.3;
const SET = 0.3;
const FADES = 0.65;
/** More pieces than these are not named one by one in the picture. */
const NAMED_MOST = 3;
const GLUE_MOST = 8;
/** The length of an arrow, as a share of the size of the work; and how far it stays off the wood. */
const ARROW = 0.1;
const OFF = 0.012;
/** How far the view is widened, as a share of the size of the work, for pieces on their way in. */
const WIDER = 0.18;

const finished = new WeakMap<Walk, Placed[]>();
const boxes = new WeakMap<Stage, Box>();

/** What is drawn when `share` (0 to 1) of a step is done; `coming`: whether what is still to come is ghosted. */
export function ofStep(walk: Walk, step: number, share: number, coming: "absent" | "ghost",
  hidden: ReadonlySet<number>): Moment {
  const index = Math.min(Math.max(0, step), walk.steps.length - 1);
  const now = walk.steps[index];
  const stage = now && now.stage !== null ? walk.stages[now.stage] : undefined;
  if (!now || !stage) return ofFinished(walk, now, hidden);
  const part = Math.min(1, Math.max(0, share));
  const all = courses(walk, stage);
  const ghosts = coming === "ghost" || now.kind === "ready";
  const glued = new Set(now.kind === "spread" ? now.glued : []);
  const shown = (ghosted: boolean) => {
    const pieces: Placed[] = [];
    for (const course of all) {
      if (!hidden.has(course.part)) place(pieces, course, index, part, ghosted, glued.has(course.part));
    }
    return pieces;
  };
  let pieces = shown(ghosts);
  if (pieces.length === 0) pieces = shown(true);
  const drawn = marks(walk, stage, all, now, index, part);
  return {
    pieces, aids: aids(walk, stage, index, part), ...drawn,
    ground: { on: stage.on, top: stage.on === "bench" ? stage.bench : null },
    box: boxOf(walk, stage), look: `stage ${now.stage ?? ""}`,
  };
}

function ofFinished(walk: Walk, step: Step | undefined, hidden: ReadonlySet<number>): Moment {
  let all = finished.get(walk);
  if (!all) {
    all = walk.parts.flatMap((part, index): Placed[] =>
      part.home ? [{ part: index, shape: part.shape, at: part.home, role: "wood", seen: 1 }] : []);
    finished.set(walk, all);
  }
  return {
    pieces: hidden.size > 0 ? all.filter((placed) => !hidden.has(placed.part)) : all,
    aids: [], arrows: [], signs: step ? findingSigns(walk, step) : [], lines: [],
    ground: { on: "floor", top: null }, box: walk.box, look: "finished",
  };
}

function place(pieces: Placed[], course: Course, index: number, share: number, ghosts: boolean, glued: boolean): void {
  const down = setDown(course, index);
  if (down === null) return;
  const shape = shapeAt(course, index);
  const where = offset(course, index, share);
  if (where === null) {
    if (glued) pieces.push({ part: course.part, shape, at: moved(course.home, course.before[0]!), role: "moving", seen: 1 });
    else if (ghosts) pieces.push(atHome(course, shape, "ghost"));
    return;
  }
  const off = course.leaves.find((one) => one.step === index);
  if (off) {
    const seen = share > FADES && !off.stays ? (1 - share) / (1 - FADES) : 1;
    const by = sum(times(down, 1 - ease(share)), times(off.by, ease(share)));
    if (seen > 0) pieces.push({ part: course.part, shape, at: moved(course.home, by), role: course.role, seen });
    return;
  }
  const there = course.leaves.length > 0 ? moved(course.home, down) : course.home;
  const change = course.changes.find((one) => one.step === index);
  if (change) {
    if (share < 1) pieces.push({ part: course.part, shape: change.from, at: there, role: course.role, seen: 1 - ease(share) });
    if (share > 0) pieces.push({ ...atHome(course, change.to, course.role), at: there });
    return;
  }
  const moving = course.passages.some((one) => one.step === index);
  if (!moving && where === "home") {
    const lies = atHome(course, shape, course.role);
    pieces.push(there === course.home ? lies : { ...lies, at: there });
    return;
  }
  const start = course.passages[0]!.start;
  const laid = moving && start[0] === 0 && start[1] === 0 && start[2] === 0;
  pieces.push({
    part: course.part, shape, at: where === "home" ? course.home : moved(course.home, where),
    role: moving && course.role !== "temporary" ? "moving" : course.role,
    seen: laid ? Math.min(1, share / APPEARS) : 1,
  });
}

/** Whether clamps come off while one waits for the glue: they are there up to the end of that step. */
function offDuring(walk: Walk, thing: Thing, index: number): boolean {
  return thing.to === index + 1 && thing.kind !== "block" && walk.steps[index]?.kind === "wait";
}

function aids(walk: Walk, stage: Stage, index: number, share: number): Aid[] {
  const found: Aid[] = [];
  stage.things.forEach((thing, number) => {
    if (thing.from > index || thing.to < index) return;
    let seen = 1;
    if (thing.to === index) seen = 1 - share / SET;
    else if (thing.from === index) seen = (share - thing.share) / Math.max(0.01, Math.min(SET, 1 - thing.share));
    else if (offDuring(walk, thing, index)) seen = (1 - share) / SET;
    if (thing.from === index && share >= 1 && !offDuring(walk, thing, index)) seen = 1;
    if (seen > 0) found.push({ thing: number, shape: thing.shape, at: thing.at, look: thing.kind, seen: Math.min(1, seen) });
  });
  return found;
}

interface Drawn { arrows: Arrow[]; signs: Sign[]; lines: Line[] }

function marks(walk: Walk, stage: Stage, all: Course[], step: Step, index: number, share: number): Drawn {
  const drawn: Drawn = { arrows: [], signs: findingSigns(walk, step), lines: [] };
  const size = across(stage.box);
  const of = byPart(all);
  let ride: Point = [0, 0, 0];
  step.moves.forEach((motion, number) => {
    const group = motion.parts.flatMap((part) => of.get(part) ?? []);
    if (group.length === 0) return;
    const here = push(drawn, motion, index, group, share, size);
    if (number === 0) ride = here;
  });
  name(walk, drawn, of, step, index, share);
  for (const hand of step.hands) drawn.signs.push({ at: sum(hand, ride), look: "hand", says: "hand" });
  for (const group of together(step, of)) leave(drawn, group, index, share);
  if (step.kind === "spread") glueSigns(drawn, step, of, index);
  return drawn;
}

const byParts = new WeakMap<Course[], Map<number, Course>>();

function byPart(all: Course[]): Map<number, Course> {
  let found = byParts.get(all);
  if (!found) {
    found = new Map(all.map((course) => [course.part, course]));
    byParts.set(all, found);
  }
  return found;
}

/** An arrow behind what moves, as a hand pushes, and the way it has come. Returns its offset from home. */
function push(drawn: Drawn, motion: Motion, index: number, group: Course[], share: number, size: number): Point {
  const one = passage(index, motion);
  const here = along(one, share);
  const length = Math.hypot(...one.start);
  if (length === 0) return here;
  const first = one.corner !== null && share < one.turnAt;
  const way = first && motion.before ? motion.before : motion.way;
  const { centre, half } = around(group);
  const behind = -(reach(half, way) + OFF * size);
  const tip = sum(sum(centre, here), times(way, behind));
  drawn.arrows.push({ from: sum(tip, times(way, -ARROW * size)), to: tip, look: "move" });
  const trail = [sum(centre, one.start), ...(one.corner ? [sum(centre, one.corner)] : []), centre];
  drawn.lines.push({ points: trail.map((point) => sum(point, times(way, behind))), look: "trail" });
  return here;
}

/** What goes off in a step, those that go the same way together. */
function together(step: Step, of: Map<number, Course>): Course[][] {
  const groups = new Map<string, Course[]>();
  for (const { part, by } of step.leaves) {
    const course = of.get(part);
    if (course) groups.set(by.join(), [...(groups.get(by.join()) ?? []), course]);
  }
  return [...groups.values()];
}

/** An arrow ahead of what goes off, as long as the way that is left, while it goes. */
function leave(drawn: Drawn, group: Course[], index: number, share: number): void {
  const going = group[0]?.leaves.find((one) => one.step === index);
  const down = group[0] ? setDown(group[0], index) : null;
  if (!going || down === null || share >= 1) return;
  const by = sum(going.by, times(down, -1));
  const length = Math.hypot(...by);
  if (length === 0) return;
  const way = times(by, 1 / length);
  const { centre, half } = around(group);
  const front = sum(sum(sum(centre, down), times(by, ease(share))), times(way, reach(half, way)));
  drawn.arrows.push({ from: front, to: sum(front, times(way, Math.max(length * (1 - ease(share)), 40))), look: "leave" });
}

function name(walk: Walk, drawn: Drawn, of: Map<number, Course>, step: Step, index: number, share: number): void {
  const parts = step.moves.flatMap((motion) => motion.parts);
  if (parts.length > NAMED_MOST) return;
  for (const part of parts) {
    const course = of.get(part);
    const where = course ? offset(course, index, share) : null;
    if (!course || where === null) continue;
    const top = sum(course.centre, [0, 0, course.half[2]]);
    drawn.signs.push({ at: where === "home" ? top : sum(top, where), look: "label", says: walk.parts[part]?.name ?? "" });
  }
}

/** Where glue goes: on the leading end of what is about to come, or else on the pieces themselves. */
function glueSigns(drawn: Drawn, step: Step, of: Map<number, Course>, index: number): void {
  const glued = step.glued.flatMap((part) => of.get(part) ?? []);
  const loose = glued.filter((course) => offset(course, index, 1) === null);
  for (const course of (loose.length > 0 ? loose : glued).slice(0, GLUE_MOST)) {
    const first = course.passages[0];
    let at = course.centre;
    if (first && offset(course, index, 1) === null) {
      at = sum(sum(at, course.before[0]!), times(first.motion.way, reach(course.half, first.motion.way)));
    }
    drawn.signs.push({ at, look: "label", says: "glue" });
  }
}

function findingSigns(walk: Walk, step: Step): Sign[] {
  return step.findings.flatMap((number): Sign[] => {
    const found = walk.findings[number];
    if (!found?.at || found.stage !== step.stage) return [];
    return [{ at: found.at, look: "finding", says: `${found.sign} ${found.number}` }];
  });
}

function around(group: Course[]): { centre: Point; half: Point } {
  const low: Point = [Infinity, Infinity, Infinity];
  const high: Point = [-Infinity, -Infinity, -Infinity];
  for (const { centre, half } of group) {
    for (let axis = 0; axis < 3; axis++) {
      low[axis] = Math.min(low[axis]!, centre[axis]! - half[axis]!);
      high[axis] = Math.max(high[axis]!, centre[axis]! + half[axis]!);
    }
  }
  return { centre: times(sum(low, high), 0.5), half: times(sum(high, times(low, -1)), 0.5) };
}

function reach(half: Point, way: Point): number {
  return Math.min(...way.map((along, axis) => (Math.abs(along) > 1e-6 ? half[axis]! / Math.abs(along) : Infinity)));
}

function across(box: Box): number {
  return Math.hypot(box[1][0] - box[0][0], box[1][1] - box[0][1], box[1][2] - box[0][2]);
}

/** The stage's box, widened a little to where its pieces come from and go, so that the view need not move while they do. */
function boxOf(walk: Walk, stage: Stage): Box {
  let found = boxes.get(stage);
  if (!found) {
    const most = WIDER * across(stage.box);
    const low: Point = [...stage.box[0]];
    const high: Point = [...stage.box[1]];
    for (const course of courses(walk, stage)) {
      for (const start of [...course.before, ...course.leaves.map((left) => left.by)]) {
        for (let axis = 0; axis < 3; axis++) {
          const middle = course.centre[axis]! + start[axis]!;
          low[axis] = Math.min(low[axis]!, Math.max(middle - course.half[axis]!, stage.box[0][axis]! - most));
          high[axis] = Math.max(high[axis]!, Math.min(middle + course.half[axis]!, stage.box[1][axis]! + most));
        }
      }
    }
    low[2] = Math.min(stage.box[0][2], Math.max(low[2], 0));
    found = [low, high];
    boxes.set(stage, found);
  }
  return found;
}
