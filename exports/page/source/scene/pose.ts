/** Where the eye stands and what it sees. x to the right, y away, z up; the eye never rolls. */

import type { Box, Point } from "../walk.ts";
import { along, cornersOf, dot, middle, minus, plus, times } from "./space.ts";

/** The eye looks at `target` from `distance` mm; at azimuth 0 it looks along +y; a positive height looks down. */
export interface Pose { target: Point; distance: number; azimuth: number; height: number }

/** The picture it makes: width and height in CSS px, the tangent of half the angle seen upward. */
export interface Lens { width: number; height: number; tangent: number }

/** Pixels to keep free at the sides of the picture. */
export interface Margins { left: number; right: number; top: number; bottom: number }

export const LOWEST = 0.035;
export const HIGHEST = 1.553;

export interface Basis { right: Point; up: Point; ahead: Point }

export function basis(pose: { azimuth: number; height: number }): Basis {
  const [sa, ca, sh, ch] = [Math.sin(pose.azimuth), Math.cos(pose.azimuth), Math.sin(pose.height), Math.cos(pose.height)];
  return { right: [ca, -sa, 0], up: [sa * sh, ca * sh, ch], ahead: [sa * ch, ca * ch, -sh] };
}

export function eye(pose: Pose): Point {
  return along(pose.target, basis(pose).ahead, -pose.distance);
}

/** The angles of a direction from the eye into the work. */
export function facing(way: Point): { azimuth: number; height: number } {
  const flat = Math.hypot(way[0], way[1]);
  return { azimuth: Math.atan2(way[0], way[1]), height: level(Math.atan2(-way[2], flat)) };
}

export const level = (height: number): number => Math.min(HIGHEST, Math.max(LOWEST, height));

/** A point in the picture: x and y in CSS px from the upper left corner, and how far ahead of the eye it lies, mm. */
export function seenAt(pose: Pose, lens: Lens, point: Point): Point {
  const { right, up, ahead } = basis(pose);
  const from = minus(point, pose.target);
  const deep = dot(from, ahead) + pose.distance;
  const scale = lens.height / 2 / lens.tangent / Math.max(deep, 1e-6);
  return [lens.width / 2 + dot(from, right) * scale, lens.height / 2 - dot(from, up) * scale, deep];
}

/** The direction from the eye through a place in the picture (unit). */
export function through(pose: Pose, lens: Lens, x: number, y: number): Point {
  const { right, up, ahead } = basis(pose);
  const scale = lens.tangent / (lens.height / 2);
  const way = plus(ahead, plus(times(right, (x - lens.width / 2) * scale), times(up, (lens.height / 2 - y) * scale)));
  return times(way, 1 / Math.hypot(...way));
}

/** How many mm one CSS px is, at a distance ahead of the eye. */
export function grain(lens: Lens, deep: number): number {
  return deep * lens.tangent * 2 / lens.height;
}

/** The nearest pose, looking the way given, that has the whole box in the picture within the margins.
 * Exact for a picture in perspective: each side of the picture is a plane through the eye, and of the eight corners the
 * one farthest beyond it decides. */
export function fitted(box: Box, way: { azimuth: number; height: number }, lens: Lens, margins: Margins): Pose {
  const { right, up, ahead } = basis(way);
  const centre = middle(box);
  const corners = cornersOf(box).map((corner) => {
    const from = minus(corner, centre);
    return [dot(from, right), dot(from, up), dot(from, ahead)] as Point;
  });
  const slope = lens.tangent / (lens.height / 2);
  const room = (size: number, margin: number): number => Math.max(size / 2 - margin, size / 10) * slope;
  const wide = sideways(corners.map((c) => [c[0], c[2]]), room(lens.width, margins.left), room(lens.width, margins.right));
  const tall = sideways(corners.map((c) => [c[1], c[2]]), room(lens.height, margins.bottom), room(lens.height, margins.top));
  const nearest = Math.max(...corners.map((c) => -c[2])) + 1;
  const distance = Math.max(wide.least, tall.least, nearest);
  const target = plus(centre, plus(times(right, wide.centre(distance)), times(up, tall.centre(distance))));
  return { target, distance, azimuth: way.azimuth, height: way.height };
}

/** Across one direction of the picture: the least distance that holds every [across, deep], and the middle at a distance. */
function sideways(points: [number, number][], low: number, high: number): { least: number; centre: (d: number) => number } {
  const over = Math.max(...points.map(([x, z]) => x - high * z));
  const under = Math.max(...points.map(([x, z]) => -x - low * z));
  return { least: (over + under) / (low + high), centre: (d) => (over - high * d + low * d - under) / 2 };
}

/** Turned about the target: by how much to the side and up, radians. */
export function orbited(pose: Pose, aside: number, up: number): Pose {
  return { ...pose, azimuth: pose.azimuth + aside, height: level(pose.height + up) };
}

/** Moved so that what lay under one place in the picture, at the target's depth, lies under another. */
export function panned(pose: Pose, lens: Lens, dx: number, dy: number): Pose {
  const { right, up } = basis(pose);
  const scale = grain(lens, pose.distance);
  return { ...pose, target: plus(pose.target, plus(times(right, -dx * scale), times(up, dy * scale))) };
}

/** Closer (factor below 1) or farther about a point of the work, which stays where it is in the picture: the eye nears
 * the point but never passes it. `deep` is how far ahead of the eye the point lies; `limits` bound what is left of it. */
export function closerTo(pose: Pose, factor: number, point: Point, deep: number, limits: [number, number]): Pose {
  const left = Math.min(limits[1], Math.max(Math.min(limits[0], deep), deep * factor));
  const k = left / deep;
  return { ...pose, target: plus(point, times(minus(pose.target, point), k)), distance: pose.distance * k };
}

/** A stage is seen from its front, turned by this much at most, so that left, right and away in words agree with the picture. */
const ASIDE = 0.5;
const [FLAT, UPRIGHT, FROM_ABOVE] = [0.12, 0.7, 0.95];

/** The way to look at a box first: that which was given, or, of a stage, from its front and the more from above the
 * flatter it lies. */
export function firstWay(box: Box, given: { azimuth: number; height: number }, stage: boolean): { azimuth: number; height: number } {
  if (!stage) return given;
  const [x, y, z] = minus(box[1], box[0]);
  const tall = Math.min(1, Math.max(0, (z / Math.max(x, y, 1) - FLAT) / (UPRIGHT - FLAT)));
  const low = Math.min(0.45, Math.max(0.25, given.height));
  return { azimuth: Math.min(ASIDE, Math.max(-ASIDE, given.azimuth)), height: FROM_ABOVE + (low - FROM_ABOVE) * tall };
}

/** On the way from one pose to another, the shorter way round; share 0 to 1. */
export function between(from: Pose, to: Pose, share: number): Pose {
  const mixed = (a: number, b: number): number => a + (b - a) * share;
  const turn = Math.atan2(Math.sin(to.azimuth - from.azimuth), Math.cos(to.azimuth - from.azimuth));
  return {
    target: [0, 1, 2].map((i) => mixed(from.target[i]!, to.target[i]!)) as Point,
    distance: from.distance * Math.pow(to.distance / from.distance, share),
    azimuth: from.azimuth + turn * share,
    height: mixed(from.height, to.height),
  };
}

/** The rectangle about a box in the picture: left, top, right, bottom, CSS px. */
export function boxSeen(pose: Pose, lens: Lens, box: Box): [number, number, number, number] {
  const seen = cornersOf(box).map((corner) => seenAt(pose, lens, corner));
  const [xs, ys] = [seen.map((p) => p[0]), seen.map((p) => p[1])];
  return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
}
