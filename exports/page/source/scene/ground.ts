/** What the work stands on: a soft shadow under what is near it, and the bench's top where there is one. */

import {
  BufferAttribute, GLSL3, InstancedBufferAttribute, InstancedBufferGeometry, Mesh, MeshBasicMaterial, PlaneGeometry,
  RawShaderMaterial, Sphere,
} from "three";
import type { Scene } from "three";
import type { Moment } from "../moment.ts";
import type { Frame } from "../walk.ts";
import type { Solid } from "./arrays.ts";
import { takenOff } from "./cutting.ts";
import type { Plane } from "./cutting.ts";
import type { Paper } from "./looks.ts";
import { mixed } from "./looks.ts";
import { SHADE_FRAGMENT, SHADE_VERTEX } from "./shaders.ts";
import { boxAt, placed } from "./space.ts";

/** What lies higher than this share of the whole above the ground throws no shadow that is drawn. */
const NEAR = 0.3;
const SOFT = 0.01;
const FOOT = 0.05;

/** The shadow of one body, of that of it which is near the ground: middle, heading (cosine, sine), half sizes, softness,
 * weight. */
function shadow(at: Frame, solid: Solid, size: number): number[] | null {
  const low = boxAt(at, solid.box)[0][2];
  const high = Math.max(0, low);
  if (high > NEAR * size) return null;
  const main = [0, 1, 2].reduce((best, axis) => flat(at, solid, axis) > flat(at, solid, best) ? axis : best, 0);
  const long = Math.hypot(at[main]!, at[main + 4]!) || 1;
  const [c, s] = [at[main]! / long, at[main + 4]! / long];
  const across: [number, number] = [Infinity, -Infinity];
  const aside: [number, number] = [Infinity, -Infinity];
  for (let k = 0; k < solid.corners.length; k += 3) {
    const [x, y, z] = placed(at, [solid.corners[k]!, solid.corners[k + 1]!, solid.corners[k + 2]!]);
    if (z > low + FOOT * size) continue;
    const [u, v] = [x * c + y * s, y * c - x * s];
    across[0] = Math.min(across[0], u);
    across[1] = Math.max(across[1], u);
    aside[0] = Math.min(aside[0], v);
    aside[1] = Math.max(aside[1], v);
  }
  const [u, v] = [(across[0] + across[1]) / 2, (aside[0] + aside[1]) / 2];
  const soft = size * SOFT + high * 0.25;
  return [u * c - v * s, u * s + v * c, c, s, across[1] - u, aside[1] - v, soft, 0.5 / (1 + high / (0.04 * size))];
}

/** How far a body reaches over the ground along one of its axes. */
function flat(at: Frame, solid: Solid, axis: number): number {
  return Math.hypot(at[axis]!, at[axis + 4]!) * (solid.box[1][axis]! - solid.box[0][axis]!);
}

export class Ground {
  private readonly shade: Mesh<InstancedBufferGeometry, RawShaderMaterial>;
  private readonly top: Mesh<PlaneGeometry, MeshBasicMaterial>;

  constructor(scene: Scene) {
    const material = new RawShaderMaterial({
      glslVersion: GLSL3, vertexShader: SHADE_VERTEX, fragmentShader: SHADE_FRAGMENT, transparent: true, depthWrite: false,
      uniforms: { weight: { value: 1 } },
    });
    this.shade = new Mesh(new InstancedBufferGeometry(), material);
    this.shade.visible = false;
    this.shade.frustumCulled = false;
    this.shade.renderOrder = 0;
    this.top = new Mesh(new PlaneGeometry(1, 1), new MeshBasicMaterial({ depthWrite: false }));
    this.top.renderOrder = -1;
    scene.add(this.top, this.shade);
  }

  show(moment: Moment, solid: (shape: number) => Solid | null, plane: Plane | null, size: number, on: Paper): void {
    const found: number[] = [];
    for (const one of moment.ground === null ? [] : [...moment.pieces, ...moment.aids]) {
      const body = one.seen > 0.5 && !("role" in one && one.role === "ghost") ? solid(one.shape) : null;
      const cast = body === null ? null : shadow(one.at, body, size);
      if (cast && !takenOff(plane, [cast[0]!, cast[1]!, one.at[11]])) found.push(...cast);
    }
    this.shade.visible = found.length > 0;
    if (found.length > 0) this.fill(new Float32Array(found));
    this.shade.material.uniforms["weight"]!.value = on.dark ? 1.5 : 0.62;
    const bench = moment.ground?.on === "bench" ? moment.ground.top : null;
    this.top.visible = bench !== null && bench !== undefined;
    if (!bench) return;
    this.top.scale.set(bench[0], bench[1], 1);
    const [r, g, b] = mixed(on.paper, on.dark ? [150, 128, 98] : [205, 180, 140], on.dark ? 0.22 : 0.4);
    this.top.material.color.setRGB(r / 255, g / 255, b / 255, "srgb");
  }

  private fill(numbers: Float32Array): void {
    const count = numbers.length / 8;
    const [spots, reaches] = [new Float32Array(count * 4), new Float32Array(count * 4)];
    for (let k = 0; k < count; k++) {
      spots.set(numbers.subarray(k * 8, k * 8 + 4), k * 4);
      reaches.set(numbers.subarray(k * 8 + 4, k * 8 + 8), k * 4);
    }
    this.shade.geometry.dispose();
    const geometry = new InstancedBufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(new Float32Array([-1, -1, 1, -1, 1, 1, -1, 1]), 2));
    geometry.setIndex([0, 1, 2, 0, 2, 3]);
    geometry.setAttribute("spot", new InstancedBufferAttribute(spots, 4));
    geometry.setAttribute("reach", new InstancedBufferAttribute(reaches, 4));
    geometry.instanceCount = count;
    geometry.boundingSphere = new Sphere();
    this.shade.geometry = geometry;
  }
}
