/** The picture of the work: what the graphics card holds, where the eye stands, and when to draw anew. */

import { Color, PerspectiveCamera, Scene, Vector2, WebGLRenderer } from "three";
import type { Moment } from "../moment.ts";
import type { Cut, Pick } from "../state.ts";
import type { Part, Shape, Walk } from "../walk.ts";
import type { Solid } from "./arrays.ts";
import { solidOf } from "./arrays.ts";
import { Batches, cutting, materials, uniforms } from "./batches.ts";
import { planeOf } from "./cutting.ts";
import type { Plane } from "./cutting.ts";
import { Ground } from "./ground.ts";
import { instancesOf } from "./instances.ts";
import type { Paper } from "./looks.ts";
import type { Overlay } from "./overlay.ts";
import type { Hit, Sight } from "./picking.ts";
import { measured, touched } from "./picking.ts";
import type { Lens, Margins, Pose } from "./pose.ts";
import { basis, between, boxSeen, closer, eye, facing, fitted, orbited, panned } from "./pose.ts";
import { Sharpness } from "./sharpness.ts";
import { length, minus, plus, times } from "./space.ts";

const HALF_ANGLE = Math.tan((15 * Math.PI) / 180);
const FLIGHT = 320;
const TURN = 0.0075;
const FINGER = 24;
const MOUSE = 10;

export class Picture {
  private readonly renderer: WebGLRenderer;
  private readonly scene = new Scene();
  private readonly camera = new PerspectiveCamera();
  private readonly told = uniforms();
  private readonly all = materials(this.told);
  private readonly batches: Batches;
  private readonly ground: Ground;
  private readonly canvas: HTMLCanvasElement;
  private readonly overlay: Overlay;
  private readonly sharpness = new Sharpness();
  private shapes: readonly Shape[] = [];
  private parts: readonly Part[] = [];
  private moment: Moment | null = null;
  private piece: number | null = null;
  private plane: Plane | null = null;
  private on: Paper;
  private way = { azimuth: 0.5, height: 0.4 };
  private pose: Pose = { target: [0, 0, 0], distance: 1000, azimuth: 0.5, height: 0.4 };
  private flight: { from: Pose; to: Pose; start: number } | null = null;
  private before: Pose | null = null;
  private ownView = false;
  private waiting = 0;
  private changed = true;
  margins: Margins = { left: 28, right: 28, top: 28, bottom: 28 };
  calm = false;
  drawn: (() => void) | null = null;

  constructor(canvas: HTMLCanvasElement, overlay: Overlay, on: Paper) {
    this.canvas = canvas;
    this.overlay = overlay;
    this.on = on;
    this.renderer = new WebGLRenderer({ canvas, antialias: false, powerPreference: "low-power", preserveDrawingBuffer: false });
    this.renderer.setClearColor(new Color().setRGB(...(on.paper.map((v) => v / 255) as [number, number, number]), "srgb"));
    this.renderer.outputColorSpace = "srgb-linear";
    this.batches = new Batches(this.scene, this.all, (shape) => this.solid(shape));
    this.ground = new Ground(this.scene);
    this.camera.matrixAutoUpdate = true;
  }

  private solid(shape: number): Solid | null {
    const found = this.shapes[shape];
    return found ? solidOf(found) : null;
  }

  /** Look at another scene: flat work from higher up, upright work from lower down. */
  private face(moment: Moment): void {
    const [x, y, z] = minus(moment.box[1], moment.box[0]);
    const height = Math.min(0.95, Math.max(0.36, 1.05 - 0.9 * (z / Math.max(x, y, 1))));
    const fresh = this.canvas.dataset["pieces"] === undefined;
    if (fresh) this.way = { ...this.way, height };
    this.ownView = false;
    this.before = null;
    this.fly(fitted(moment.box, fresh ? this.way : { azimuth: this.pose.azimuth, height }, this.lens(), this.margins), fresh);
  }

  /** Take up a rehearsal; the eye keeps where it stands unless nothing was shown before. */
  load(walk: Walk): void {
    this.shapes = walk.shapes;
    this.parts = walk.parts;
    this.batches.clear();
    if (this.moment === null) this.way = facing(walk.facing);
    this.changed = true;
    this.soon();
  }

  show(moment: Moment, piece: number | null, cut: Cut | null): void {
    const other = this.moment === null || this.moment.look !== moment.look;
    this.moment = moment;
    this.piece = piece;
    this.plane = cut === null ? null : planeOf(cut, moment.box);
    cutting(this.all, this.plane !== null);
    this.changed = true;
    if (other) this.face(moment);
    this.soon();
  }

  repaint(on: Paper): void {
    this.on = on;
    this.changed = true;
    this.soon();
  }

  /** The canvas has another size. */
  resized(): void {
    if (!this.ownView) this.fit(true);
    this.soon();
  }

  private lens(): Lens {
    const [width, height] = [Math.max(1, this.canvas.clientWidth), Math.max(1, this.canvas.clientHeight)];
    return { width, height, tangent: HALF_ANGLE };
  }

  fit(atOnce = false): void {
    if (this.moment === null) return;
    this.ownView = false;
    this.before = null;
    const fresh = this.canvas.dataset["pieces"] === undefined;
    this.fly(fitted(this.moment.box, fresh ? this.way : this.pose, this.lens(), this.margins), atOnce);
  }

  private fly(to: Pose, atOnce = false): void {
    if (atOnce || this.calm) {
      this.pose = to;
      this.flight = null;
    } else {
      this.flight = { from: this.pose, to, start: performance.now() };
    }
    this.soon();
  }

  private limits(): [number, number] {
    const size = this.moment === null ? 1000 : length(minus(this.moment.box[1], this.moment.box[0]));
    return [Math.max(20, size / 40), size * 12];
  }

  turn(dx: number, dy: number): void { this.seen(orbited(this.pose, dx * TURN, dy * TURN)); }
  move(dx: number, dy: number): void { this.seen(panned(this.pose, this.lens(), dx, dy)); }
  nearer(factor: number, x?: number, y?: number): void {
    const lens = this.lens();
    this.seen(closer(this.pose, lens, factor, x ?? lens.width / 2, y ?? lens.height / 2, this.limits()));
  }

  private seen(pose: Pose): void {
    this.flight = null;
    this.pose = pose;
    this.ownView = true;
    this.soon();
  }

  /** Come closer to what is under a place in the picture; a second time, go back. */
  approach(x: number, y: number): void {
    if (this.before !== null) {
      const back = this.before;
      this.before = null;
      this.fly(back);
      return;
    }
    const hit = touched(this.sight(), x, y);
    if (!hit) { this.fit(); return; }
    const [pose, distance] = [this.pose, Math.max(this.limits()[0], this.pose.distance * 0.35)];
    this.fly({ ...pose, target: hit.at, distance });
    this.before = pose;
    this.ownView = true;
  }

  private sight(): Sight {
    return { pose: this.pose, lens: this.lens(), pieces: this.moment?.pieces ?? [], solid: (k) => this.solid(k), plane: this.plane };
  }

  under(x: number, y: number): Hit | null { return touched(this.sight(), x, y); }
  picked(x: number, y: number, finger: boolean): Pick | null { return measured(this.sight(), x, y, finger ? FINGER : MOUSE); }

  /** Draw before long, once. */
  soon(): void {
    if (this.waiting === 0) this.waiting = requestAnimationFrame((now) => { this.waiting = 0; this.draw(now); });
  }

  private draw(now: number): void {
    if (this.moment === null || this.canvas.clientWidth === 0) return;
    if (this.flight) {
      const share = Math.min(1, (performance.now() - this.flight.start) / FLIGHT);
      this.pose = between(this.flight.from, this.flight.to, share * share * (3 - 2 * share));
      if (share >= 1) this.flight = null;
    }
    const size = this.limits()[1] / 12;
    if (this.changed) this.put(size);
    const lens = this.lens();
    this.stand(lens, this.sharpness.ratio(now), size);
    this.renderer.render(this.scene, this.camera);
    this.overlay.show(this.moment, this.pose, lens, this.on);
    this.note(lens);
    if (this.flight || this.sharpness.settling(() => { this.soon(); })) this.soon();
    this.drawn?.();
    this.drawn = null;
  }

  private put(size: number): void {
    this.changed = false;
    this.renderer.setClearColor(new Color(this.on.paper[0] / 255, this.on.paper[1] / 255, this.on.paper[2] / 255));
    this.told.dark.value = this.on.dark ? 1 : 0;
    this.told.hatch.value.set(70 / size, 110 / size, this.on.dark ? 1 : 0);
    if (this.plane) this.told.plane.value.set(...this.plane.normal, this.plane.offset);
    this.batches.show(instancesOf(this.moment!, this.parts, this.piece, this.on));
    this.ground.show(this.moment!, (k) => this.solid(k), size, this.on);
  }

  private stand(lens: Lens, ratio: number, size: number): void {
    const before = this.renderer.getSize(new Vector2());
    if (before.x !== lens.width || before.y !== lens.height || this.renderer.getPixelRatio() !== ratio) {
      this.renderer.setPixelRatio(ratio);
      this.renderer.setSize(lens.width, lens.height, false);
    }
    const { right, up, ahead } = basis(this.pose);
    const from = eye(this.pose);
    this.camera.position.set(...from);
    this.camera.up.set(...up);
    this.camera.lookAt(...this.pose.target);
    this.camera.fov = (2 * Math.atan(lens.tangent) * 180) / Math.PI;
    this.camera.aspect = lens.width / lens.height;
    this.camera.near = Math.max(this.pose.distance / 100, this.pose.distance - 3 * size);
    this.camera.far = this.pose.distance + 4 * size;
    this.camera.updateProjectionMatrix();
    this.camera.updateMatrixWorld();
    const light = plus(plus(times(right, -0.4), times(up, 0.62)), times(ahead, -0.68));
    this.told.key.value.set(...light).normalize();
    this.told.screen.value.set((lens.width * ratio) / 2, (lens.height * ratio) / 2);
    this.told.ratio.value = ratio;
    this.told.nearest.value = this.camera.near;
    this.told.wholeView.value.multiplyMatrices(this.camera.projectionMatrix, this.camera.matrixWorldInverse);
  }

  /** Leave on the canvas what is seen, for whoever looks after it. */
  private note(lens: Lens): void {
    const moment = this.moment!;
    this.canvas.dataset["look"] = moment.look;
    this.canvas.dataset["pieces"] = String(moment.pieces.length);
    this.canvas.dataset["box"] = boxSeen(this.pose, lens, moment.box).map((v) => v.toFixed(1)).join(" ");
  }

  /** The picture as a PNG, for print. */
  snapshot(): string {
    this.renderer.render(this.scene, this.camera);
    return this.canvas.toDataURL("image/png");
  }

  close(): void {
    cancelAnimationFrame(this.waiting);
    this.batches.clear();
    this.renderer.dispose();
  }
}
