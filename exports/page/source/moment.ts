/** What is to be drawn at one moment, worked out without drawing: plain data from the rehearsal and the place in it. */

import type { Box, Frame, Point } from "./walk.ts";

/** How a piece is meant to look: fresh wood, glued earlier (pale), moving now, still to come (ghost), a temporary part,
 * wrong (in a finding), the rest around a finding (very pale). */
export type Role = "wood" | "earlier" | "moving" | "ghost" | "temporary" | "wrong" | "right" | "around";

export interface Placed {
  part: number;
  shape: number;
  at: Frame;
  role: Role;
  /** 0 to 1; a piece that fades in or out. 1 for all others. */
  seen: number;
}

/** A body that is not wood of the work: a clamp, a block. */
export interface Aid {
  /** Index of the thing in its stage. */
  thing: number;
  shape: number;
  at: Frame;
  look: "bar" | "band" | "pad" | "block" | "screw";
  seen: number;
}

export interface Arrow {
  from: Point;
  to: Point;
  look: "move" | "grain" | "turn" | "leave";
}

/** A sign that stays upright and of one size on the screen, at a point: hands, a finding's number, a pencil mark's words. */
export interface Sign {
  at: Point;
  look: "hand" | "finding" | "pencil" | "label";
  says: string;
}

export interface Line {
  points: Point[];
  look: "trail" | "measure" | "pencil";
}

export interface Moment {
  pieces: Placed[];
  aids: Aid[];
  arrows: Arrow[];
  signs: Sign[];
  lines: Line[];
  /** What the work stands on at z = 0: a bench (its top: length along x, width along y, about the middle), the floor, nothing. */
  ground: { on: "bench" | "floor"; top: [number, number] | null } | null;
  /** What has to be in view. */
  box: Box;
  /** Changes when the camera should be set anew (another stage, another finding); while it stays the camera is kept. */
  look: string;
}
