/** The numbers of a solid, out of the text they travel in. Works without a browser. */

import type { Box, Shape } from "../walk.ts";

/** A solid ready to be drawn and picked: corners (xyz each), triangles and fold edges as indices into them. */
export interface Solid {
  corners: Float32Array;
  triangles: Uint16Array | Uint32Array;
  edges: Uint16Array | Uint32Array;
  box: Box;
}

function bytes(text: string): ArrayBuffer {
  const raw = atob(text);
  const found = new Uint8Array(raw.length);
  for (let i = 0; i < raw.length; i++) found[i] = raw.charCodeAt(i);
  return found.buffer;
}

function indices(text: string, wide: boolean): Uint16Array | Uint32Array {
  return wide ? new Uint32Array(bytes(text)) : new Uint16Array(bytes(text));
}

const WIDE = 65536;

const known = new WeakMap<Shape, Solid>();

/** The solid of a shape; worked out once for each. */
export function solidOf(shape: Shape): Solid {
  const before = known.get(shape);
  if (before) return before;
  const corners = new Float32Array(bytes(shape.corners));
  const wide = corners.length / 3 >= WIDE;
  const solid = { corners, triangles: indices(shape.triangles, wide), edges: indices(shape.edges, wide), box: shape.box };
  known.set(shape, solid);
  return solid;
}
