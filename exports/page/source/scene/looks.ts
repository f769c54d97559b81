/** How each role is drawn: fill, outline, pattern, in light and in dark. Never told by colour alone. */

import type { Aid, Arrow, Line, Role } from "../moment.ts";

export type Colour = [number, number, number];

/** Colours for meaning: Okabe & Ito, "Color Universal Design" (2008). */
export const ORANGE: Colour = [230, 159, 0];
export const SKY: Colour = [86, 180, 233];
export const GREEN: Colour = [0, 158, 115];
export const BLUE: Colour = [0, 114, 178];
export const VERMILLION: Colour = [213, 94, 0];

/** What is drawn on the faces: wood's own lines, a hatching, nothing. */
export const PATTERN = { wood: 0, hatched: 1, plain: 2 } as const;

export interface Look {
  fill: Colour;
  /** 0: no faces, 1: solid. */
  solid: number;
  pattern: number;
  edge: Colour;
  /** CSS px. */
  width: number;
  /** CSS px of dash and of gap; 0: drawn through. */
  dash: number;
  inked: number;
}

export interface Paper { paper: Colour; ink: Colour; soft: Colour; dark: boolean }
export const LIGHT: Paper = { paper: [246, 243, 236], ink: [44, 36, 30], soft: [146, 138, 128], dark: false };
export const DARK: Paper = { paper: [31, 28, 24], ink: [239, 233, 221], soft: [122, 113, 101], dark: true };

/** A colour with a share, 0 to 1, of another in it. */
export function mixed(one: Colour, other: Colour, share: number): Colour {
  return [0, 1, 2].map((i) => one[i]! + (other[i]! - one[i]!) * share) as Colour;
}

/** A tone "#rrggbb" as numbers 0 to 255; anything else is a plain wood. */
export function colourOf(tone: string): Colour {
  const found = /^#([0-9a-f]{6})$/i.exec(tone);
  if (!found) return [201, 170, 126];
  const bits = parseInt(found[1]!, 16);
  return [bits >> 16, (bits >> 8) & 255, bits & 255];
}

const WOOD_EDGE: Colour = [58, 38, 24];
const THIN = 1.2;

/** How a piece is drawn, from its role and its tone. */
export function lookOf(role: Role, tone: Colour, on: Paper): Look {
  const wood: Look = { fill: tone, solid: 1, pattern: PATTERN.wood, edge: on.dark ? [24, 15, 9] : WOOD_EDGE, width: THIN, dash: 0, inked: 1 };
  const strong = on.dark ? SKY : BLUE;
  switch (role) {
    case "wood": return wood;
    case "earlier": return { ...wood, fill: on.dark ? mixed(tone, [92, 85, 76], 0.78) : mixed(tone, [240, 237, 231], 0.72), edge: on.dark ? [22, 19, 16] : on.soft, inked: 1 };
    case "moving": return { ...wood, fill: mixed(tone, [255, 246, 230], 0.12), edge: strong, width: 2.6 };
    case "ghost": return { ...wood, solid: 0, edge: on.dark ? [196, 186, 172] : [92, 84, 76], width: 1.1, dash: 5, inked: 0.6 };
    case "temporary": return { ...wood, fill: on.dark ? [112, 140, 158] : [222, 239, 250], pattern: PATTERN.hatched, edge: on.dark ? SKY : [0, 84, 140], width: 1.4 };
    case "wrong": return { ...wood, fill: mixed(tone, VERMILLION, 0.35), edge: on.dark ? [240, 120, 40] : VERMILLION, width: 3.4 };
    case "right": return { ...wood, fill: mixed(tone, GREEN, 0.22), edge: on.dark ? [40, 190, 145] : GREEN, width: 2.2 };
    case "around": return { ...wood, fill: mixed(tone, on.dark ? [70, 64, 57] : [246, 243, 236], 0.85), solid: 0.3, pattern: PATTERN.plain, edge: on.soft, width: 1, inked: 0.75 };
  }
}

/** The chosen piece: as before, with a heavy outline; one that has a heavy outline keeps it. */
export function chosen(look: Look, on: Paper): Look {
  if (look.width > 2) return look;
  return { ...look, edge: on.ink, width: Math.max(look.width, 3), dash: 0, inked: 1 };
}

/** How clamps, pads, blocks and screws are drawn. */
export function lookOfAid(kind: Aid["look"], on: Paper): Look {
  const steel: Colour = on.dark ? [140, 146, 152] : [168, 174, 180];
  const fills: Record<Aid["look"], Colour> = {
    bar: steel, screw: mixed(steel, [60, 64, 70], 0.3), band: mixed(steel, [60, 64, 70], 0.2),
    pad: ORANGE, block: on.dark ? [126, 116, 102] : [214, 204, 188],
  };
  return { fill: fills[kind], solid: 1, pattern: PATTERN.plain, edge: on.dark ? [20, 20, 22] : [48, 50, 54], width: 1, dash: 0, inked: 0.85 };
}

export function arrowColour(look: Arrow["look"], on: Paper): Colour {
  switch (look) {
    case "move": return on.dark ? SKY : BLUE;
    case "leave": return on.dark ? [240, 120, 40] : VERMILLION;
    case "turn": return on.dark ? [40, 190, 145] : GREEN;
    case "grain": return on.dark ? on.ink : WOOD_EDGE;
  }
}

/** The outline of what a cut goes through. */
export function lookOfCut(on: Paper): Look {
  return { fill: on.paper, solid: 0, pattern: PATTERN.plain, edge: on.dark ? [12, 9, 7] : [36, 24, 16], width: 2, dash: 0, inked: 1 };
}

export function lookOfLine(look: Line["look"], on: Paper): Look {
  const plain: Look = { fill: on.paper, solid: 0, pattern: PATTERN.plain, edge: on.ink, width: 1.6, dash: 0, inked: 1 };
  switch (look) {
    case "trail": return { ...plain, edge: on.dark ? SKY : BLUE, dash: 5, inked: 0.8 };
    case "measure": return { ...plain, edge: on.dark ? [240, 120, 40] : VERMILLION, width: 2.4 };
    case "pencil": return { ...plain, width: 2.4 };
  }
}
