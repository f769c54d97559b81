/** What the page is given: one rehearsal, as `exports/walk/` writes it. Lengths mm, times minutes, angles radians. */

export type Point = [number, number, number];
/** A frame as three rows of four numbers: rotation and place, mm. */
export type Frame = [number, number, number, number, number, number, number, number, number, number, number, number];
export type Box = [Point, Point];

export interface Walk {
  /** Raised when this shape of data changes. */
  format: 1;
  /** What the maker calls the work, and what it says of itself. */
  title: string;
  says: string;
  /** The unit the maker reads. */
  unit: "mm" | "in";
  /** The name of the file it was made from, without its folder. */
  file: string;
  version: string;
  /** A few lines: pieces, joints, mass, overall size. */
  about: string[];
  verdict: { said: string; stop: number; warn: number; note: number };
  /** Cautions and conventions, each a paragraph. */
  cautions: string[];
  /** How good the plan is and how long it takes, each a sentence. */
  quality: string[];
  /** The finished work's box: x to the right, y away from the viewer, z up from the ground. */
  box: Box;
  /** A direction to look along at first (unit, from the eye into the work, finished work). */
  facing: Point;
  shapes: Shape[];
  parts: Part[];
  stages: Stage[];
  /** Every step in order: those of stage 1, stage 2 ..., at last the finished work alone. At least one. */
  steps: Step[];
  findings: Finding[];
  /** False while the order is still being worked out (live only): then there is one step, the finished work. */
  planned: boolean;
  live: Live | null;
}

/** One solid in its own frame, shared by all that look alike. Arrays are base64, little-endian. */
export interface Shape {
  /** Corners, Float32, three numbers each, mm. */
  corners: string;
  /** Triangles, counter-clockwise from outside: Uint16, or Uint32 with 65536 corners and more. */
  triangles: string;
  /** Pairs of corners at which the solid folds: the edges to draw. Same integers as the triangles. */
  edges: string;
  box: Box;
}

export interface Part {
  name: string;
  /** The mark pencilled on it. The parts that have the same mark are truly alike and can change places. */
  mark: string;
  /** What its kind is called ("rail"), or "". */
  kind: string;
  temporary: boolean;
  /** Its colour as wood, "#rrggbb". */
  tone: string;
  /** The finished solid, and where it stands in the finished work; null when it is no longer there. */
  shape: number;
  home: Frame | null;
  /** The direction of its fibres in its own frame (unit). */
  grain: Point;
  /** How far it is drawn from home when all is spread apart, along the ways it comes in (finished work). */
  apart: Point;
  /** Words: its size as cut, its stock, its mass. */
  size: string;
  stock: string;
  mass: string;
  joints: PartJoint[];
  /** Index of the stage at which it comes to the bench, or null. */
  stage: number | null;
  /** The mark of its mirror image, or "". */
  mirror: string;
  /** What to pencil on it so that it goes in one way only. */
  pencil: Pencil[];
}

export interface PartJoint {
  name: string;
  /** The kind of joint in the trade's words. */
  kind: string;
  other: number;
  glued: boolean;
  /** Index of the stage at which it closes, or null. */
  stage: number | null;
  /** Words: its sizes that matter ("tenon 89 × 25 × 38 mm, 0.1 mm play a side"). */
  says: string;
}

/** A mark in the part's own frame: a cross at a place on the surface, or an arrow from there. */
export interface Pencil {
  at: Point;
  out: Point;
  arrow: Point | null;
  says: string;
}

/** One glue-up, as it lies in the shop: every frame and point of a stage is in its own shop frame, z up from bench or floor. */
export interface Stage {
  number: number;
  name: string;
  /** "Stage 2: far side". */
  title: string;
  on: "bench" | "floor";
  /** Carries the finished work's coordinates into this stage's shop frame; a part that temporary parts hold elsewhere
   * stands elsewhere. */
  frame: Frame;
  /** The bench's top along x and along y, when the work lies on one. */
  bench: [number, number] | null;
  /** What is there, and where it stands when closed. `before` says whether it was glued earlier. */
  pieces: { part: number; at: Frame; shape: number; before: boolean }[];
  /** Things that are not wood of the work, with the steps during which they are there. */
  things: Thing[];
  /** Index of the first step, and of the one after the last. */
  first: number;
  end: number;
  box: Box;
  /** Minutes that glue may lie open, and joints wait closed; those used; until clamps come off; until loaded. */
  time: { open: number; closed: number; openUsed: number; closedUsed: number; needed: number; clamped: number; load: number };
  people: number;
  /** Words for the whole stage: how it lies, what lies ready, the glue, the clamps, the times; each a paragraph. */
  says: string[];
}

export interface Thing {
  kind: "bar" | "band" | "pad" | "block" | "screw";
  shape: number;
  at: Frame;
  /** Steps (indices) at which it is there: from this one, to before that one. */
  from: number;
  to: number;
  /** Where in the first of those steps, 0 to 1, it appears. */
  share: number;
  /** For labels ("bar clamp, 62 in open"), or "". */
  says: string;
}

export type StepKind = "ready" | "spread" | "move" | "hold" | "clamp" | "wait" | "take away" | "cut" | "stands";

export interface Step {
  /** Steady through changes of the design: stage number, a dot, the step's number in it ("2.5"); "end" for the last. */
  id: string;
  kind: StepKind;
  /** Index of its stage; null for the finished work. */
  stage: number | null;
  /** A few words, for lists ("rail_07 onto far_leg"). */
  title: string;
  /** What to do, each a sentence. */
  says: string[];
  /** Where each joint gets glue, in words with mL ("tenon and mortise of rail_07_far: 3.5 mL"); spread steps only. */
  glue: string[];
  /** Parts that get glue now; and the parts this step is about. */
  glued: number[];
  parts: number[];
  /** Pieces that come home in this step, together if several. */
  moves: Motion[];
  /** From when to when, minutes after the first glue of its stage; null where the clock does not run. */
  minutes: [number, number] | null;
  /** People it takes, and where their hands go: points on the moving piece at home. */
  people: number;
  hands: Point[];
  /** Parts that go off at this step, and by how much. A part that `stays` is set down there and is seen there in the
   * rest of the stage (work that is lifted off so that a temporary part comes out); the others are gone. */
  leaves: { part: number; by: Point; stays: boolean }[];
  /** Parts whose solid changes in this step: from this shape to that. */
  changes: { part: number; from: number; to: number }[];
  /** Numbers of the findings that show here (indices). */
  findings: number[];
}

/** A straight slide home: the parts start `travel + clear` mm back along `way`; of that the last `travel` mm are the
 * proven motion, engaged. With `before` they come in that way first, from `clear` mm. Directions are units, shop frame. */
export interface Motion {
  parts: number[];
  onto: number[];
  way: Point;
  travel: number;
  clear: number;
  before: Point | null;
}

/** A piece as it stands wrong and as it should. */
export interface WaysRound { part: number; wrong: Frame; right: Frame; wrongShape: number; rightShape: number }

export interface Finding {
  /** Its number in the report, from 1. */
  number: number;
  kind: string;
  severity: "stop" | "warn" | "note";
  /** "STOP", "WARN", "note": never colour alone. */
  sign: string;
  title: string;
  message: string;
  remedy: string;
  /** How much, in the maker's unit, or "". */
  amount: string;
  /** Where by tape, in words, or "". */
  spot: string;
  parts: number[];
  /** Index of the stage at which it shows; null for the finished work. */
  stage: number | null;
  /** The scene it is shown in: what is there and where (the stage's shop frame, or the finished work's). */
  shown: { part: number; at: Frame; shape: number }[];
  /** The spot itself in that scene, and a box to fly to. */
  at: Point | null;
  box: Box;
  /** How far to draw parts apart to see it, in that scene. */
  apart: { part: number; by: Point }[];
  /** For a part that can go in the wrong way round: where it stands then and where it should, and the turn between;
   * `others` are those that turn with it (a group glued earlier), or that it has changed places with. */
  turned: (WaysRound & { wrongSays: string; rightSays: string; others: WaysRound[] }) | null;
  /** Index of the part and of its pencil mark that prevents it. */
  pencil: { part: number; mark: number } | null;
}

/** What only a page served by `dryfit walk` has. */
export interface Live {
  /** Counts up with every rebuild. */
  version: number;
  numbers: NamedNumber[];
}

export interface NamedNumber {
  /** Where it stands in the file: "family.overall_width". */
  key: string;
  /** For people: "overall width". */
  says: string;
  /** The table it stands in, for a heading: "family". */
  group: string;
  /** What it means, a few words, or "". */
  hint: string;
  /** As the file has it: "8 ft 4 in". */
  text: string;
  kind: "length" | "angle" | "count" | "number";
  line: number;
}

/** Something wrong in the file while it is being changed; the last good state stays. */
export interface FileProblem {
  line: number | null;
  key: string;
  said: string;
}
