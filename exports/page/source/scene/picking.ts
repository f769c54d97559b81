/** What lies under a finger: the piece, and its nearest corner, edge or face. Works without a browser. */

import type { Placed } from "../moment.ts";
import type { Pick } from "../state.ts";
import type { Point } from "../walk.ts";
import type { Solid } from "./arrays.ts";
import type { Plane } from "./cutting.ts";
import { takenOff } from "./cutting.ts";
import type { Lens, Pose } from "./pose.ts";
import { eye, seenAt, through } from "./pose.ts";
import { along, boxAt, cross, dot, length, minus, placed, placedBack, plus, times, turned, turnedBack, unit } from "./space.ts";

export interface Hit { part: number; at: Point; normal: Point; deep: number }

export interface Sight {
  pose: Pose;
  lens: Lens;
  pieces: readonly Placed[];
  solid: (shape: number) => Solid | null;
  plane: Plane | null;
}

/** Whether a piece can be touched: ghosts and what has nearly faded cannot. */
const touchable = (piece: Placed): boolean => piece.role !== "ghost" && piece.seen > 0.5;

/** Where a ray enters a box, or null. */
function meetsBox(from: Point, way: Point, low: Point, high: Point): boolean {
  let [near, far] = [0, Infinity];
  for (let i = 0; i < 3; i++) {
    if (Math.abs(way[i]!) < 1e-12) {
      if (from[i]! < low[i]! || from[i]! > high[i]!) return false;
      continue;
    }
    const [a, b] = [(low[i]! - from[i]!) / way[i]!, (high[i]! - from[i]!) / way[i]!];
    near = Math.max(near, Math.min(a, b));
    far = Math.min(far, Math.max(a, b));
  }
  return near <= far;
}

/** All places where a ray goes through a solid's faces, in the solid's frame: distances and triangles. */
function crossings(solid: Solid, from: Point, way: Point, tell: (deep: number, triangle: number) => void): void {
  const { corners: c, triangles: t } = solid;
  for (let i = 0; i < t.length; i += 3) {
    const [a, b, d] = [t[i]! * 3, t[i + 1]! * 3, t[i + 2]! * 3];
    const origin: Point = [c[a]!, c[a + 1]!, c[a + 2]!];
    const u: Point = [c[b]! - origin[0], c[b + 1]! - origin[1], c[b + 2]! - origin[2]];
    const v: Point = [c[d]! - origin[0], c[d + 1]! - origin[1], c[d + 2]! - origin[2]];
    const p = cross(way, v);
    const size = dot(u, p);
    if (Math.abs(size) < 1e-12) continue;
    const s = minus(from, origin);
    const x = dot(s, p) / size;
    if (x < 0 || x > 1) continue;
    const q = cross(s, u);
    const y = dot(way, q) / size;
    if (y < 0 || x + y > 1) continue;
    const deep = dot(v, q) / size;
    if (deep > 0) tell(deep, i);
  }
}

function normalOf(solid: Solid, triangle: number): Point {
  const at = (k: number): Point => Array.from(solid.corners.subarray(solid.triangles[k]! * 3, solid.triangles[k]! * 3 + 3)) as Point;
  const [a, b, c] = [at(triangle), at(triangle + 1), at(triangle + 2)];
  return unit(cross(minus(b, a), minus(c, a)));
}

/** The first thing a ray meets that is not taken off by the cut. A face cut open counts, with the cut's own normal. */
export function struck(sight: Sight, from: Point, way: Point): Hit | null {
  let best: Hit | null = null;
  const { plane } = sight;
  const facing = plane ? dot(plane.normal, way) : 0;
  const cap = plane && Math.abs(facing) > 1e-9 ? (plane.offset - dot(plane.normal, from)) / facing : -1;
  for (const piece of sight.pieces) {
    const solid = touchable(piece) ? sight.solid(piece.shape) : null;
    if (!solid) continue;
    const [start, ahead] = [placedBack(piece.at, from), turnedBack(piece.at, way)];
    if (!meetsBox(start, ahead, solid.box[0], solid.box[1])) continue;
    let beyondCap = 0;
    crossings(solid, start, ahead, (deep, triangle) => {
      if (cap > 0 && facing < 0 && deep > cap) beyondCap++;
      if (best && deep >= best.deep) return;
      const at = along(from, way, deep);
      if (takenOff(plane, at)) return;
      best = { part: piece.part, at, normal: turned(piece.at, normalOf(solid, triangle)), deep };
    });
    if (plane && beyondCap % 2 === 1 && (!best || cap < (best as Hit).deep)) {
      best = { part: piece.part, at: along(from, way, cap), normal: plane.normal, deep: cap };
    }
  }
  return best;
}

/** What is under a place in the picture. */
export function touched(sight: Sight, x: number, y: number): Hit | null {
  return struck(sight, eye(sight.pose), through(sight.pose, sight.lens, x, y));
}

/** Whether a point lies within the wood of a piece that can be touched, or nearer to it than `clear` mm on all sides. */
export function within(sight: Sight, point: Point, clear: number): boolean {
  return sight.pieces.some((piece) => {
    const solid = touchable(piece) ? sight.solid(piece.shape) : null;
    if (!solid) return false;
    const own = placedBack(piece.at, point);
    if (own.some((v, i) => v < solid.box[0][i]! - clear || v > solid.box[1][i]! + clear)) return false;
    const met = { count: 0, near: false };
    for (const way of SKEW) {
      met.count = 0;
      crossings(solid, own, way, (deep) => { met.count++; met.near ||= deep < clear; });
      if (met.near || met.count % 2 === 1) return true;
    }
    return false;
  });
}
/** Directions that run along no face of ordinary work. */
const SKEW: Point[] = [unit([0.61, 0.53, 0.59]), unit([-0.67, 0.41, -0.62]), unit([0.2, -0.9, 0.38]), unit([-0.3, -0.35, 0.89])];

/** Whether a point is in plain view. A point on the surface itself counts as seen. */
export function inView(sight: Sight, point: Point): boolean {
  if (takenOff(sight.plane, point)) return false;
  const from = eye(sight.pose);
  const far = length(minus(point, from));
  const hit = struck(sight, from, times(minus(point, from), 1 / far));
  return !hit || hit.deep > far - Math.max(1, far * 0.002);
}

/** Ends of folds at which the fold turns by more than a curve's facets do. */
export function sharp(solid: Solid): Set<number> {
  const ways = new Map<number, Point[]>();
  const at = (k: number): Point => [solid.corners[k * 3]!, solid.corners[k * 3 + 1]!, solid.corners[k * 3 + 2]!];
  for (let i = 0; i < solid.edges.length; i += 2) {
    const [a, b] = [solid.edges[i]!, solid.edges[i + 1]!];
    const way = unit(minus(at(b), at(a)));
    ways.set(a, [...(ways.get(a) ?? []), way]);
    ways.set(b, [...(ways.get(b) ?? []), times(way, -1)]);
  }
  const found = new Set<number>();
  for (const [corner, all] of ways) {
    if (all.length !== 2 || dot(all[0]!, all[1]!) > -Math.cos(18 * Math.PI / 180)) found.add(corner);
  }
  return found;
}

const knownSharp = new WeakMap<Solid, Set<number>>();
function sharpOf(solid: Solid): Set<number> {
  let found = knownSharp.get(solid);
  if (!found) knownSharp.set(solid, found = sharp(solid));
  return found;
}

interface Near { pick: Pick; off: number; deep: number }

/** For measuring: the nearest corner in view within a finger, else the nearest edge, else the face. */
export function measured(sight: Sight, x: number, y: number, finger: number): Pick | null {
  const corners: Near[] = [];
  const edges: Near[] = [];
  for (const piece of sight.pieces) {
    const solid = touchable(piece) ? sight.solid(piece.shape) : null;
    if (solid && nearby(sight, piece, solid, x, y, finger)) gather(sight, piece, solid, [x, y], finger, corners, edges);
  }
  for (const list of [corners, edges]) {
    list.sort((a, b) => Math.round(a.off) - Math.round(b.off) || a.deep - b.deep);
    const found = list.slice(0, 40).find((near) => inView(sight, near.pick.at));
    if (found) return found.pick;
  }
  const hit = touched(sight, x, y);
  return hit ? { kind: "face", part: hit.part, at: hit.at, normal: hit.normal } : null;
}

/** Whether the finger can be near a piece at all. */
function nearby(sight: Sight, piece: Placed, solid: Solid, x: number, y: number, finger: number): boolean {
  const [low, high] = boxAt(piece.at, solid.box);
  const centre = times(plus(low, high), 0.5);
  const [sx, sy, deep] = seenAt(sight.pose, sight.lens, centre);
  const reach = length(minus(high, low)) / 2;
  if (deep < reach) return true;
  return Math.hypot(sx - x, sy - y) < finger + reach * sight.lens.height / (2 * sight.lens.tangent * (deep - reach));
}

function gather(sight: Sight, piece: Placed, solid: Solid, finger: [number, number], reach: number, corners: Near[], edges: Near[]): void {
  const turns = sharpOf(solid);
  const seen = new Map<number, { at: Point; on: Point }>();
  const of = (k: number): { at: Point; on: Point } => {
    let one = seen.get(k);
    if (one) return one;
    const at = placed(piece.at, [solid.corners[k * 3]!, solid.corners[k * 3 + 1]!, solid.corners[k * 3 + 2]!]);
    one = { at, on: seenAt(sight.pose, sight.lens, at) };
    seen.set(k, one);
    if (turns.has(k) && one.on[2] > 0) {
      const off = Math.hypot(one.on[0] - finger[0], one.on[1] - finger[1]);
      if (off <= reach) corners.push({ pick: { kind: "corner", part: piece.part, at }, off, deep: one.on[2] });
    }
    return one;
  };
  for (let i = 0; i < solid.edges.length; i += 2) {
    const [a, b] = [of(solid.edges[i]!), of(solid.edges[i + 1]!)];
    if (a.on[2] <= 0 || b.on[2] <= 0) continue;
    const [dx, dy] = [b.on[0] - a.on[0], b.on[1] - a.on[1]];
    const long = dx * dx + dy * dy;
    const share = long > 0 ? Math.min(1, Math.max(0, ((finger[0] - a.on[0]) * dx + (finger[1] - a.on[1]) * dy) / long)) : 0;
    const off = Math.hypot(a.on[0] + dx * share - finger[0], a.on[1] + dy * share - finger[1]);
    if (off > reach) continue;
    const own = share * a.on[2] / (share * a.on[2] + (1 - share) * b.on[2]);
    edges.push({ pick: { kind: "edge", part: piece.part, at: along(a.at, minus(b.at, a.at), own), ends: [a.at, b.at] }, off, deep: a.on[2] });
  }
}
