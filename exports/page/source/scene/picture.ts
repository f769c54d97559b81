/** The picture of the work: what the graphics card holds, and when it is drawn anew. */

import { Color, PerspectiveCamera, Scene, Vector2, WebGLRenderer } from "three";
import type { Moment } from "../moment.ts";
import type { Cut, Pick } from "../state.ts";
import type { Part, Shape, Walk } from "../walk.ts";
import type { Solid } from "./arrays.ts";
import { solidOf } from "./arrays.ts";
import { Batches, cutting, materials, Outline, sparing, uniforms } from "./batches.ts";
import { outline, planeOf, takenOff } from "./cutting.ts";
import type { Plane } from "./cutting.ts";
import { Ground } from "./ground.ts";
import { instancesOf } from "./instances.ts";
import { lookOfCut } from "./looks.ts";
import type { Paper } from "./looks.ts";
import type { Overlay } from "./overlay.ts";
import type { Hit, Sight } from "./picking.ts";
import { measured, touched, within } from "./picking.ts";
import type { Field } from "./placing.ts";
import type { Lens, Margins, Pose } from "./pose.ts";
import { basis, boxSeen, eye, facing } from "./pose.ts";
import { Sharpness } from "./sharpness.ts";
import { boxAt, plus, times } from "./space.ts";
import { Standpoint } from "./standpoint.ts";

const HALF_ANGLE = Math.tan((14 * Math.PI) / 180);
const FINGER = 24;
const MOUSE = 10;
/** Scenes in the shop frame of a stage; all others are of the finished work. */
const STAGE = /^stage/;

export class Picture {
  readonly stand: Standpoint;
  private readonly renderer: WebGLRenderer;
  private readonly scene = new Scene();
  private readonly camera = new PerspectiveCamera();
  private readonly told = uniforms();
  private readonly all = materials(this.told);
  private readonly batches: Batches;
  private readonly section: Outline;
  private readonly ground: Ground;
  private readonly canvas: HTMLCanvasElement;
  private readonly overlay: Overlay;
  private readonly sharpness: Sharpness;
  private shapes: readonly Shape[] = [];
  private parts: readonly Part[] = [];
  private moment: Moment | null = null;
  private piece: number | null = null;
  private plane: Plane | null = null;
  private on: Paper;
  private waiting = 0;
  private changed = true;
  /** From where a stage was seen when its order began to be worked out anew; seen from there again once it is. */
  private aside: { look: string; pose: Pose } | null = null;
  /** Told once, after the first picture. */
  drawn: (() => void) | null = null;

  constructor(canvas: HTMLCanvasElement, overlay: Overlay, on: Paper, margins: () => Margins) {
    this.canvas = canvas;
    this.overlay = overlay;
    this.on = on;
    this.renderer = new WebGLRenderer({ canvas, antialias: false, powerPreference: "low-power", stencil: true });
    this.renderer.outputColorSpace = "srgb-linear";
    this.sharpness = new Sharpness(this.renderer.getContext() as WebGL2RenderingContext);
    this.batches = new Batches(this.scene, this.all, (shape) => this.solid(shape));
    this.section = new Outline(this.scene, materials(this.told).strong);
    this.ground = new Ground(this.scene);
    this.stand = new Standpoint({
      lens: () => this.lens(), margins, soon: () => { this.soon(); },
      under: (pose, x, y) => touched(this.sight(pose), x, y)?.at ?? null,
      inWood: (point, clear) => within(this.sight(this.stand.pose), point, clear),
    });
  }

  private solid(shape: number): Solid | null {
    const found = this.shapes[shape];
    return found ? solidOf(found) : null;
  }

  /** Take up a rehearsal; the eye keeps where it stands. */
  load(walk: Walk): void {
    const look = this.moment?.look ?? "";
    if (!walk.planned && this.stand.own && STAGE.test(look)) this.aside = { look, pose: this.stand.pose };
    this.shapes = walk.shapes;
    this.parts = walk.parts;
    this.batches.clear();
    this.stand.give(facing(walk.facing));
    this.again();
  }

  show(moment: Moment, piece: number | null, cut: Cut | null): void {
    const before = this.moment;
    this.moment = moment;
    this.piece = piece;
    this.plane = cut === null ? null : planeOf(cut, moment.box);
    if (before?.look === moment.look) this.stand.stay(moment.box);
    else if (this.aside?.look === moment.look) {
      this.stand.back(moment.box, this.aside.pose);
      this.aside = null;
    } else {
      const stage = STAGE.test(moment.look);
      const far = stage || (before !== null && STAGE.test(before.look));
      this.stand.enter(moment.box, stage, before === null ? "nowhere" : far ? "elsewhere" : "here");
    }
    this.again();
  }

  repaint(on: Paper): void {
    this.on = on;
    this.again();
  }

  /** The canvas has another size. */
  resized(): void {
    if (!this.stand.own) this.stand.fit(true);
    this.soon();
  }

  private lens(): Lens {
    const [width, height] = [Math.max(1, this.canvas.clientWidth), Math.max(1, this.canvas.clientHeight)];
    return { width, height, tangent: HALF_ANGLE };
  }

  private sight(pose: Pose): Sight {
    return { pose, lens: this.lens(), pieces: this.moment?.pieces ?? [], solid: (k) => this.solid(k), plane: this.plane };
  }

  under(x: number, y: number): Hit | null { return touched(this.sight(this.stand.pose), x, y); }
  picked(x: number, y: number, finger: boolean): Pick | null {
    return measured(this.sight(this.stand.pose), x, y, finger ? FINGER : MOUSE);
  }

  /** Whether the eye stands on the far side, along x, y or z, of the middle of the work. */
  beyond(axis: 0 | 1 | 2): boolean {
    const box = this.moment?.box;
    return box !== undefined && eye(this.stand.pose)[axis] > (box[0][axis] + box[1][axis]) / 2;
  }

  /** All is to be drawn anew, not only seen from elsewhere. */
  again(): void {
    this.changed = true;
    this.soon();
  }

  /** The card lost everything and is there again. */
  restored(): void {
    this.sharpness.lost();
    this.again();
  }

  /** Draw before long, once. */
  soon(): void {
    this.canvas.dataset["still"] = "no";
    if (this.waiting === 0) this.waiting = requestAnimationFrame(() => { this.waiting = 0; this.draw(performance.now()); });
  }

  private draw(now: number): void {
    if (this.moment === null || this.canvas.clientWidth === 0) return;
    if (!this.sharpness.free(now)) { this.soon(); return; }
    const pose = this.stand.at(now);
    if (this.changed) this.put(this.stand.size);
    const lens = this.lens();
    this.aim(pose, lens, this.sharpness.ratio());
    this.renderer.render(this.scene, this.camera);
    this.overlay.show(this.moment, pose, lens, this.on, this.busy(pose, lens));
    this.note(pose, lens);
    this.sharpness.given(now, () => this.waiting !== 0, () => { this.soon(); },
      () => { this.canvas.dataset["still"] = "yes"; });
    if (this.stand.flying) this.soon();
    this.drawn?.();
    this.drawn = null;
  }

  /** Fields of the picture in which a piece moves or something is wrong: signs leave them free. */
  private busy(pose: Pose, lens: Lens): Field[] {
    return this.moment!.pieces.filter((one) => one.role === "moving" || one.role === "wrong").slice(0, 12).flatMap((one) => {
      const body = this.solid(one.shape);
      return body ? [boxSeen(pose, lens, boxAt(one.at, body.box))] : [];
    });
  }

  private put(size: number): void {
    this.changed = false;
    const moment = this.moment!;
    this.renderer.setClearColor(new Color(this.on.paper[0] / 255, this.on.paper[1] / 255, this.on.paper[2] / 255));
    this.told.dark.value = this.on.dark ? 1 : 0;
    this.told.hatch.value.set(70 / size, 110 / size, this.on.dark ? 1 : 0);
    cutting(this.all, this.plane !== null);
    if (this.plane) this.told.plane.value.set(...this.plane.normal, this.plane.offset);
    this.section.show(this.plane ? outline(moment, this.plane, (k) => this.solid(k)) : [], lookOfCut(this.on));
    this.batches.show(instancesOf(moment, this.parts, this.piece, this.on), this.plane !== null);
    this.ground.show(moment, (k) => this.solid(k), this.plane, size, this.on);
  }

  private aim(pose: Pose, lens: Lens, ratio: number): void {
    const before = this.renderer.getSize(new Vector2());
    if (before.x !== lens.width || before.y !== lens.height || this.renderer.getPixelRatio() !== ratio) {
      this.renderer.setPixelRatio(ratio);
      this.renderer.setSize(lens.width, lens.height, false);
    }
    const { right, up, ahead } = basis(pose);
    const from = eye(pose);
    sparing(this.all, takenOff(this.plane, from));
    this.camera.position.set(...from);
    this.camera.up.set(...up);
    this.camera.lookAt(...pose.target);
    this.camera.fov = (2 * Math.atan(lens.tangent) * 180) / Math.PI;
    this.camera.aspect = lens.width / lens.height;
    const { size } = this.stand;
    this.camera.near = Math.max(size / 400, pose.distance - 3 * size);
    this.camera.far = pose.distance + 4 * size;
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
  private note(pose: Pose, lens: Lens): void {
    const moment = this.moment!;
    this.canvas.dataset["look"] = moment.look;
    this.canvas.dataset["pieces"] = String(moment.pieces.length);
    this.canvas.dataset["box"] = boxSeen(pose, lens, moment.box).map((v) => v.toFixed(1)).join(" ");
  }

  /** The picture as a PNG, for print. */
  snapshot(): string {
    this.renderer.render(this.scene, this.camera);
    return this.canvas.toDataURL("image/png");
  }

  close(): void {
    cancelAnimationFrame(this.waiting);
    this.sharpness.close();
    this.batches.clear();
    this.renderer.dispose();
  }
}
