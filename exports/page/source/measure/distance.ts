/** What lies between two picks: how far, at what angle, and the line that shows it. */

import type { Pick } from "../state.ts";
import type { Point } from "../walk.ts";
import { add, angle, between, cross, dot, length, middle, minus, times, unit } from "./vectors.ts";

/** Directions closer than this are parallel, radians: a twentieth of a degree, finer than any bevel is set. */
export const PARALLEL = (0.05 * Math.PI) / 180;

export interface Measure {
  /** The kinds of the two picks, the simpler first. */
  of: "corner corner" | "corner edge" | "corner face" | "edge edge" | "edge face" | "face face";
  /** How far apart, mm; null where only an angle can be told. */
  distance: number | null;
  /** The angle between them, 0 to a quarter turn; null where there is none. Nought means parallel. */
  angle: number | null;
  /** The ends of the line that shows the distance (or joins the picks, where there is none): from the first pick to the second. */
  from: Point;
  to: Point;
  /** For parallel edges that do not lie side by side: the least distance between the edges themselves. */
  ends: number | null;
}

/** Return what lies between two picks, in the order they were picked. */
export function measure(first: Pick, second: Pick): Measure {
  const rank = { corner: 0, edge: 1, face: 2 };
  if (rank[kindOf(first)] > rank[kindOf(second)]) {
    const found = measure(second, first);
    return { ...found, from: found.to, to: found.from };
  }
  const kinds = `${kindOf(first)} ${kindOf(second)}` as Measure["of"];
  return { of: kinds, ...ways[kinds](first, second) };
}

/** What a pick can be measured as: an edge without ends or a face without a normal is the point touched. */
export function kindOf(pick: Pick): Pick["kind"] {
  if (pick.kind === "edge" && pick.ends && between(...pick.ends) > 1e-9) return "edge";
  if (pick.kind === "face" && pick.normal && length(pick.normal) > 1e-9) return "face";
  return "corner";
}

type Found = Omit<Measure, "of">;
const plain = (from: Point, to: Point): Found => ({ distance: between(from, to), angle: null, from, to, ends: null });

const ways: Record<Measure["of"], (a: Pick, b: Pick) => Found> = {
  "corner corner": (a, b) => plain(a.at, b.at),
  "corner edge": (a, b) => plain(a.at, nearestOn(b.ends!, a.at)),
  "corner face": (a, b) => plain(a.at, footOn(b, a.at)),
  "edge edge": edges,
  "edge face": edgeAndFace,
  "face face": faces,
};

/** The point of an edge that lies nearest to a point. */
export function nearestOn([start, end]: [Point, Point], to: Point): Point {
  const along = minus(end, start);
  const share = dot(minus(to, start), along) / dot(along, along);
  return add(start, times(along, Math.min(1, Math.max(0, share))));
}

/** The point of a face's plane that lies square below a point. */
function footOn(face: Pick, from: Point): Point {
  const n = unit(face.normal!);
  return add(from, times(n, dot(minus(face.at, from), n)));
}

function acute(a: Point, b: Point): number {
  const found = angle(a, b);
  return Math.min(found, Math.PI - found);
}

function edges(a: Pick, b: Pick): Found {
  const [one, other] = [a.ends!, b.ends!];
  const [u, v] = [minus(one[1], one[0]), minus(other[1], other[0])];
  const at = acute(u, v);
  if (at > PARALLEL) return { ...plain(...leastBetween(one, other)), angle: at };
  const [from, to] = sideBySide(one, other);
  const least = between(...leastBetween(one, other));
  const distance = between(from, to);
  return { distance, angle: 0, from, to, ends: least > distance + 0.05 ? least : null };
}

/** For parallel edges: a point on the first and the foot square to it on the second's line, in the middle of where
 * they run side by side, or where they come nearest. */
function sideBySide(one: [Point, Point], other: [Point, Point]): [Point, Point] {
  const along = unit(minus(one[1], one[0]));
  const place = (p: Point): number => dot(minus(p, one[0]), along);
  const [low, high] = [Math.min(...other.map(place)), Math.max(...other.map(place))];
  const reach = place(one[1]);
  const from = Math.min(Math.max(0, low), reach);
  const to = Math.max(Math.min(reach, high), 0);
  const start = add(one[0], times(along, (from + to) / 2));
  const v = unit(minus(other[1], other[0]));
  return [start, add(other[0], times(v, dot(minus(start, other[0]), v)))];
}

/** The two points at which two edges come nearest. */
export function leastBetween(one: [Point, Point], other: [Point, Point]): [Point, Point] {
  const tries: [Point, Point][] = [
    ...one.map((p): [Point, Point] => [p, nearestOn(other, p)]),
    ...other.map((p): [Point, Point] => [nearestOn(one, p), p]),
  ];
  const inner = crossing(one, other);
  if (inner !== null) tries.push(inner);
  return tries.reduce((best, pair) => (between(...pair) < between(...best) ? pair : best));
}

/** Where the lines of two edges come nearest, when that is within both; null otherwise. */
function crossing(one: [Point, Point], other: [Point, Point]): [Point, Point] | null {
  const [u, v] = [minus(one[1], one[0]), minus(other[1], other[0])];
  const n = cross(u, v);
  const size = dot(n, n);
  if (size <= 1e-18 * dot(u, u) * dot(v, v)) return null;
  const apart = minus(other[0], one[0]);
  const s = dot(cross(apart, v), n) / size;
  const t = dot(cross(apart, u), n) / size;
  if (s < 0 || s > 1 || t < 0 || t > 1) return null;
  return [add(one[0], times(u, s)), add(other[0], times(v, t))];
}

function edgeAndFace(edge: Pick, face: Pick): Found {
  const along = minus(edge.ends![1], edge.ends![0]);
  const lean = Math.abs(Math.PI / 2 - angle(along, face.normal!));
  if (lean <= PARALLEL) {
    const from = middle(...edge.ends!);
    return { ...plain(from, footOn(face, from)), angle: 0 };
  }
  return { distance: null, angle: lean, from: edge.at, to: face.at, ends: null };
}

function faces(a: Pick, b: Pick): Found {
  const at = acute(a.normal!, b.normal!);
  if (at > PARALLEL) return { distance: null, angle: at, from: a.at, to: b.at, ends: null };
  return { ...plain(a.at, footOn(b, a.at)), angle: 0 };
}
