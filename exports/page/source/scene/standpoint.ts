/** Where the person stands before the work: turned, moved, brought closer, fitted, flown; never in the wood or the ground. */

import type { Box, Point } from "../walk.ts";
import type { Lens, Margins, Pose } from "./pose.ts";
import { basis, between, closerTo, eye, firstWay, fitted, orbited, panned, through } from "./pose.ts";
import { along, dot, length, minus } from "./space.ts";

const FLIGHT = 300;
const TURN = 0.0075;
/** A double touch brings the eye to this share of its distance. */
const APPROACH = 0.35;
/** How far a view of another scene begins off its place: farther away, and to the side. */
const ENTER = { distance: 1.12, azimuth: 0.1 };

/** What the standpoint asks of the scene. */
export interface Asked {
  lens(): Lens;
  margins(): Margins;
  /** The point of the work under a place in the picture. */
  under(pose: Pose, x: number, y: number): Point | null;
  /** Whether the eye would be in the wood at a point. */
  inWood(point: Point, clear: number): boolean;
  /** Draw anew. */
  soon(): void;
}

export class Standpoint {
  pose: Pose = { target: [0, 0, 0], distance: 1000, azimuth: 0.5, height: 0.4 };
  /** Move at once instead of flying. */
  calm = false;
  /** Whether the person has chosen the view; until a fit or another scene it is left alone then. */
  own = false;
  private readonly asked: Asked;
  private box: Box | null = null;
  private given = { azimuth: 0.5, height: 0.4 };
  private flight: { from: Pose; to: Pose; start: number } | null = null;
  private before: Pose | null = null;

  constructor(asked: Asked) { this.asked = asked; }

  /** The direction to look along at first. */
  give(way: { azimuth: number; height: number }): void { this.given = way; }

  /** Another scene, or the first: look at it as it is best seen. */
  enter(box: Box, stage: boolean, from: "nowhere" | "elsewhere" | "here"): void {
    this.box = box;
    const to = this.fittedTo(firstWay(box, this.given, stage));
    if (from === "elsewhere") this.pose = { ...to, distance: to.distance * ENTER.distance, azimuth: to.azimuth - ENTER.azimuth };
    this.own = false;
    this.before = null;
    this.fly(to, from === "nowhere");
  }

  /** The same scene, in a box that may have changed. */
  stay(box: Box): void {
    const same = this.box !== null && box.every((corner, i) => corner.every((v, k) => Math.abs(v - this.box![i]![k]!) < 0.01));
    this.box = box;
    if (!same && !this.own) this.fit(true);
  }

  /** A scene seen before, from where it was looked at then. */
  back(box: Box, pose: Pose): void {
    this.box = box;
    this.before = null;
    this.own = true;
    this.fly(pose, true);
  }

  /** All of it in the picture, seen from where one stands. */
  fit(atOnce = false): void {
    if (this.box === null) return;
    this.own = false;
    this.before = null;
    this.fly(this.fittedTo(this.flight?.to ?? this.pose), atOnce);
  }

  private fittedTo(way: { azimuth: number; height: number }): Pose {
    return fitted(this.box!, way, this.asked.lens(), this.asked.margins());
  }

  get flying(): boolean { return this.flight !== null; }

  /** Where one stands at a time, on the way or there. */
  at(now: number): Pose {
    if (this.flight) {
      const share = Math.min(1, Math.max(0, (now - this.flight.start) / FLIGHT));
      this.pose = between(this.flight.from, this.flight.to, share * share * (3 - 2 * share));
      if (share >= 1) this.flight = null;
    }
    return this.pose;
  }

  private fly(to: Pose, atOnce = false): void {
    if (atOnce || this.calm) {
      this.pose = to;
      this.flight = null;
    } else {
      this.flight = { from: this.pose, to, start: performance.now() };
    }
    this.asked.soon();
  }

  /** The size of what is looked at, mm. */
  get size(): number { return this.box === null ? 1000 : Math.max(1, length(minus(this.box[1], this.box[0]))); }

  private limits(): [number, number] { return [Math.max(15, this.size / 80), this.size * 8]; }

  turn(dx: number, dy: number): void { this.seen(orbited(this.pose, dx * TURN, dy * TURN)); }

  move(dx: number, dy: number): void { this.seen(panned(this.pose, this.asked.lens(), dx, dy)); }

  /** Closer or farther about what is at a place in the picture; without one, its middle. */
  nearer(factor: number, x?: number, y?: number): void {
    const { pose } = this;
    const lens = this.asked.lens();
    const [px, py] = [x ?? lens.width / 2, y ?? lens.height / 2];
    const from = eye(pose);
    const { ahead } = basis(pose);
    let point = this.asked.under(pose, px, py);
    if (!point) {
      const way = through(pose, lens, px, py);
      point = along(from, way, pose.distance / dot(way, ahead));
    }
    this.seen(closerTo(pose, factor, point, dot(minus(point, from), ahead), this.limits()));
  }

  /** Come closer to what is under a place in the picture; a second time, go back. */
  approach(x: number, y: number): void {
    if (this.before !== null) {
      const back = this.before;
      this.before = null;
      this.fly(back);
      return;
    }
    const { pose } = this;
    const target = this.asked.under(pose, x, y);
    if (!target) { this.fit(); return; }
    const deep = dot(minus(target, eye(pose)), basis(pose).ahead);
    this.fly(this.clear({ ...pose, target, distance: Math.max(this.limits()[0], deep * APPROACH) }));
    this.before = pose;
    this.own = true;
  }

  private seen(pose: Pose): void {
    this.flight = null;
    this.before = null;
    this.pose = this.clear(this.kept(pose));
    this.own = true;
    this.asked.soon();
  }

  /** What is looked at stays about the work, and above the ground it stands on. */
  private kept(pose: Pose): Pose {
    if (this.box === null) return pose;
    const [low, high] = this.box;
    const room = this.size / 2;
    const target = pose.target.map((v, i) =>
      Math.min(high[i]! + room, Math.max(i === 2 ? low[2] : low[i]! - room, v))) as Point;
    return { ...pose, target };
  }

  /** The pose, farther back where the eye would be in the wood. */
  private clear(pose: Pose): Pose {
    let found = pose;
    for (let tries = 0; tries < 24 && this.asked.inWood(eye(found), this.limits()[0] / 2); tries++) {
      found = { ...found, distance: found.distance * 1.15 + 5 };
    }
    return found;
  }
}

