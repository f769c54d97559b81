/** What is drawn of each solid: which of its pieces with faces, which see-through, which lines; and their numbers. */

import type { Moment } from "../moment.ts";
import type { Frame, Part, Point } from "../walk.ts";
import type { Look, Paper } from "./looks.ts";
import { chosen, colourOf, lookOf, lookOfAid } from "./looks.ts";

/** One solid somewhere, with all that its drawing needs. */
export interface Instance { shape: number; at: Frame; look: Look; grain: Point; seed: number; seen: number }

/** The ways in which a solid is drawn, in that order: faces and their lines, heavy lines, see-through faces and their
 * lines, hollow bodies (they only hide their own far side) and their lines. With a cut, the insides of solids first. */
export const WAYS = ["inside", "solid", "line", "strong", "veil", "pale", "hollow", "ghost"] as const;
export type Way = (typeof WAYS)[number];

/** Numbers of one instance: frame 12, fill and its weight 4, edge and its width 4, grain and pattern 4, ink, dash, seed 4. */
export const STRIDE = 28;

/** Lines wider than this go on top of all others. */
const STRONG = 2;
const HARDLY = 0.02;

/** All solids of a moment. */
export function instancesOf(moment: Moment, parts: readonly Part[], piece: number | null, on: Paper): Instance[] {
  const found: Instance[] = [];
  for (const placed of moment.pieces) {
    const part = parts[placed.part];
    if (!part || placed.seen <= HARDLY) continue;
    const look = lookOf(placed.role, colourOf(part.tone), on);
    found.push({
      shape: placed.shape, at: placed.at, grain: part.grain, seed: placed.part, seen: placed.seen,
      look: placed.part === piece ? chosen(look, on) : look,
    });
  }
  for (const aid of moment.aids) {
    if (aid.seen <= HARDLY) continue;
    found.push({ shape: aid.shape, at: aid.at, look: lookOfAid(aid.look, on), grain: [1, 0, 0], seed: 0, seen: aid.seen });
  }
  return found;
}

/** For each solid (by its number), what is drawn in each way. */
export function layout(instances: readonly Instance[], cut = false): Map<number, Record<Way, Instance[]>> {
  const found = new Map<number, Record<Way, Instance[]>>();
  for (const one of instances) {
    let ways = found.get(one.shape);
    if (!ways) found.set(one.shape, ways = { inside: [], solid: [], line: [], strong: [], veil: [], pale: [], hollow: [], ghost: [] });
    const weight = one.look.solid * one.seen;
    if (weight >= 1) {
      ways.solid.push(one);
      if (cut) ways.inside.push(one);
      ways[one.look.width > STRONG ? "strong" : "line"].push(one);
    } else if (weight > HARDLY) {
      ways.veil.push(one);
      ways.pale.push(one);
    } else {
      ways.hollow.push(one);
      ways.ghost.push(one);
    }
  }
  return found;
}

/** Write instances into an array, `STRIDE` numbers each. */
export function written(instances: readonly Instance[], into: Float32Array): void {
  instances.forEach((one, i) => {
    const at = i * STRIDE;
    const { look } = one;
    into.set(one.at, at);
    into.set([look.fill[0] / 255, look.fill[1] / 255, look.fill[2] / 255, look.solid * one.seen], at + 12);
    into.set([look.edge[0] / 255, look.edge[1] / 255, look.edge[2] / 255, look.width], at + 16);
    into.set([...one.grain, look.pattern], at + 20);
    into.set([look.inked * one.seen, look.dash, (one.seed * 37) % 101, 0], at + 24);
  });
}
