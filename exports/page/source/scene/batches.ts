/** The solids on the graphics card: for each, its faces and its lines, drawn for all its pieces at once. */

import {
  BufferAttribute, DynamicDrawUsage, GLSL3, InstancedBufferGeometry, InstancedInterleavedBuffer, InterleavedBuffer,
  InterleavedBufferAttribute, Mesh, RawShaderMaterial, BackSide, DoubleSide, EqualStencilFunc, IncrementWrapStencilOp,
  DecrementWrapStencilOp, Vector2, Vector3, Vector4, Matrix4,
} from "three";
import type { BufferGeometry, ShaderMaterialParameters, Scene } from "three";
import type { Frame } from "../walk.ts";
import type { Solid } from "./arrays.ts";
import { facets, folds, strokes, STROKE } from "./facets.ts";
import type { Instance, Way } from "./instances.ts";
import { layout, STRIDE, WAYS, written } from "./instances.ts";
import type { Look } from "./looks.ts";
import { FACE_FRAGMENT, FACE_VERTEX, LINE_FRAGMENT, LINE_VERTEX } from "./shaders.ts";

/** What all shaders are told of the moment. */
export function uniforms() {
  return {
    key: { value: new Vector3(0, 0, 1) }, dark: { value: 0 }, hatch: { value: new Vector3(0.02, 0.08, 0) },
    plane: { value: new Vector4(0, 0, 1, 0) }, wholeView: { value: new Matrix4() },
    screen: { value: new Vector2(1, 1) }, ratio: { value: 1 }, nearest: { value: 1 },
  };
}
export type Told = ReturnType<typeof uniforms>;

/** How far the lines of each way are lifted off the faces they lie on, as a share of their distance from the eye. */
const LIFT: Partial<Record<Way, number>> = { line: 0.0005, strong: 0.0012, pale: 0.0005, ghost: 0.0005 };

export type Materials = Record<Way, RawShaderMaterial>;

/** The materials; `told` is shared by all. */
export function materials(told: Told): Materials {
  const face = (more: Partial<ShaderMaterialParameters> = {}): RawShaderMaterial => new RawShaderMaterial({
    glslVersion: GLSL3, vertexShader: FACE_VERTEX, fragmentShader: FACE_FRAGMENT, uniforms: told,
    polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1, ...more,
  });
  const line = (way: Way): RawShaderMaterial => new RawShaderMaterial({
    glslVersion: GLSL3, vertexShader: LINE_VERTEX, fragmentShader: LINE_FRAGMENT, uniforms: { ...told, lift: { value: LIFT[way]! } },
    transparent: true, depthWrite: false, side: DoubleSide,
  });
  return {
    inside: face({ side: BackSide }), solid: face(), line: line("line"), strong: line("strong"), veil: face({ transparent: true }), pale: line("pale"),
    hollow: face({ transparent: true, colorWrite: false }), ghost: line("ghost"),
  };
}

/** With the cut on, insides are drawn too: where the eye looks into a solid that is cut open, its inside is the nearest
 * of all and is shown as the face of the cut. The stencil counts how often the eye enters and leaves wood beyond the
 * plane; where that does not come out even the plane lies in wood, and no lines are drawn. */
export function cutting(all: Materials, on: boolean): void {
  for (const way of WAYS) {
    const material = all[way];
    if (("CUT" in material.defines!) === on) continue;
    material.defines = on ? { CUT: "" } : {};
    material.needsUpdate = true;
    if (way === "inside" || way === "solid") {
      material.stencilWrite = on;
      material.stencilZPass = material.stencilZFail = way === "inside" ? IncrementWrapStencilOp : DecrementWrapStencilOp;
    }
  }
}

/** Whether lines keep off the faces of the cut: only while the eye looks at them. */
export function sparing(all: Materials, on: boolean): void {
  for (const way of ["line", "strong", "pale", "ghost"] as const) {
    all[way].stencilWrite = on;
    all[way].stencilFunc = EqualStencilFunc;
    all[way].stencilRef = 0;
  }
}

/** Give a geometry room for a number of instances. */
function instanced(base: BufferGeometry, count: number): { geometry: InstancedBufferGeometry; buffer: InstancedInterleavedBuffer } {
  const geometry = new InstancedBufferGeometry();
  geometry.index = base.index;
  for (const [name, attribute] of Object.entries(base.attributes)) geometry.setAttribute(name, attribute);
  const buffer = new InstancedInterleavedBuffer(new Float32Array(count * STRIDE), STRIDE, 1);
  buffer.setUsage(DynamicDrawUsage);
  ["row0", "row1", "row2", "fill", "edge", "trait", "manner"].forEach((name, i) => {
    geometry.setAttribute(name, new InterleavedBufferAttribute(buffer, 4, i * 4));
  });
  return { geometry, buffer };
}

function faceGeometry(solid: Solid): InstancedBufferGeometry {
  const { positions, normals, index } = facets(solid);
  const geometry = new InstancedBufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(positions, 3));
  geometry.setAttribute("normal", new BufferAttribute(normals, 3));
  geometry.setIndex(new BufferAttribute(positions.length / 3 < 65536 ? new Uint16Array(index) : index, 1));
  return geometry;
}

/** Lines between pairs of points, to be widened on the card. */
export function lineGeometry(ends: ArrayLike<number>): InstancedBufferGeometry {
  const { corners, index } = strokes(ends);
  const geometry = new InstancedBufferGeometry();
  const buffer = new InterleavedBuffer(corners, STROKE);
  geometry.setAttribute("from", new InterleavedBufferAttribute(buffer, 3, 0));
  geometry.setAttribute("to", new InterleavedBufferAttribute(buffer, 3, 3));
  geometry.setAttribute("corner", new InterleavedBufferAttribute(buffer, 2, 6));
  geometry.setIndex(new BufferAttribute(corners.length / STROKE < 65536 ? new Uint16Array(index) : index, 1));
  return geometry;
}

/** One solid drawn in one way, for as many pieces as there are. */
class Batch {
  readonly mesh: Mesh<InstancedBufferGeometry, RawShaderMaterial>;
  private readonly base: BufferGeometry;
  private buffer: InstancedInterleavedBuffer;
  private room: number;
  private readonly outgrown: BufferGeometry[] = [];

  constructor(base: BufferGeometry, material: RawShaderMaterial, order: number, room: number) {
    this.base = base;
    this.room = room;
    const { geometry, buffer } = instanced(base, room);
    this.buffer = buffer;
    this.mesh = new Mesh(geometry, material);
    this.mesh.frustumCulled = false;
    this.mesh.matrixAutoUpdate = false;
    this.mesh.matrixWorldAutoUpdate = false;
    this.mesh.renderOrder = order;
  }

  /** Draw these from now on. */
  show(instances: readonly Instance[]): void {
    this.mesh.visible = instances.length > 0;
    if (instances.length > this.room) {
      this.room = Math.max(instances.length, this.room * 2);
      // Not disposed of yet: that would take the solid's corners from the other ways in which it is drawn.
      this.outgrown.push(this.mesh.geometry);
      const { geometry, buffer } = instanced(this.base, this.room);
      this.mesh.geometry = geometry;
      this.buffer = buffer;
    }
    written(instances, this.buffer.array as Float32Array);
    this.buffer.needsUpdate = true;
    this.mesh.geometry.instanceCount = instances.length;
  }

  /** Give the card its room back; no other batch of the same solid may be drawn any more. */
  dispose(): void {
    for (const geometry of [this.mesh.geometry, ...this.outgrown]) geometry.dispose();
  }
}

/** Lines that belong to no solid, as the outline of a cut: pairs of points where the work stands. */
export class Outline {
  private batch: Batch | null = null;
  private readonly scene: Scene;
  private readonly material: RawShaderMaterial;

  constructor(scene: Scene, material: RawShaderMaterial) {
    this.scene = scene;
    this.material = material;
  }

  show(ends: ArrayLike<number>, look: Look): void {
    if (this.batch) {
      this.scene.remove(this.batch.mesh);
      this.batch.dispose();
      this.batch = null;
    }
    if (ends.length === 0) return;
    this.batch = new Batch(lineGeometry(ends), this.material, WAYS.length + 1, 1);
    this.batch.show([{ shape: 0, at: HERE, look, grain: [1, 0, 0], seed: 0, seen: 1 }]);
    this.scene.add(this.batch.mesh);
  }
}
const HERE: Frame = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0];

/** All batches of a picture, made when first needed; numbered solids are looked up by `solid`. */
export class Batches {
  private readonly made = new Map<number, Partial<Record<Way, Batch>>>();
  private readonly bases = new Map<number, { face?: BufferGeometry; line?: BufferGeometry }>();
  private readonly scene: Scene;
  private readonly all: Materials;
  private readonly solid: (shape: number) => Solid | null;

  constructor(scene: Scene, all: Materials, solid: (shape: number) => Solid | null) {
    this.scene = scene;
    this.all = all;
    this.solid = solid;
  }

  show(instances: readonly Instance[], cut: boolean): void {
    const wanted = layout(instances, cut);
    for (const [shape, batches] of this.made) {
      if (!wanted.has(shape)) for (const batch of Object.values(batches)) batch.show([]);
    }
    for (const [shape, ways] of wanted) {
      for (const way of WAYS) {
        const batch = this.made.get(shape)?.[way] ?? (ways[way].length > 0 ? this.make(shape, way, ways[way].length) : null);
        batch?.show(ways[way]);
      }
    }
  }

  private base(shape: number, way: Way): BufferGeometry | null {
    const solid = this.solid(shape);
    if (!solid) return null;
    let bases = this.bases.get(shape);
    if (!bases) this.bases.set(shape, bases = {});
    return LIFT[way] === undefined ? bases.face ??= faceGeometry(solid) : bases.line ??= lineGeometry(folds(solid));
  }

  private make(shape: number, way: Way, room: number): Batch | null {
    const base = this.base(shape, way);
    if (!base) return null;
    const batch = new Batch(base, this.all[way], WAYS.indexOf(way) + 1, room);
    this.scene.add(batch.mesh);
    const ways = this.made.get(shape) ?? {};
    this.made.set(shape, { ...ways, [way]: batch });
    return batch;
  }

  /** Forget everything, as when other solids are given. */
  clear(): void {
    for (const batches of this.made.values()) {
      for (const batch of Object.values(batches)) {
        this.scene.remove(batch.mesh);
        batch.dispose();
      }
    }
    this.made.clear();
    this.bases.clear();
  }
}
