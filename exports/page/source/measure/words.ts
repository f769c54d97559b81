/** A measure in words, in the maker's unit. */

import type { Pick } from "../state.ts";
import { degrees, measured, show, type Unit } from "../units.ts";
import type { Point } from "../walk.ts";
import { measure, type Measure } from "./distance.ts";
import { between, minus } from "./vectors.ts";

/** What stands beside the line in the work: the length, else the angle. */
export function label(found: Measure, unit: Unit): string {
  return found.distance !== null ? measured(found.distance, unit) : degrees(found.angle ?? 0);
}

const NAMES: Record<Measure["of"], string> = {
  "corner corner": "From point to point",
  "corner edge": "From the point to the nearest of the edge",
  "corner face": "From the point square to the face",
  "edge edge": "Where the edges come nearest",
  "edge face": "Edge and face",
  "face face": "Face and face",
};

/** What was measured, its figure large, and what else there is to say: the angle, the run to the sides and up. */
export interface Said { what: string; figure: string; more: string[] }

/** Return the measure between two picks in words. */
export function said(first: Pick, second: Pick, unit: Unit): Said {
  const found = measure(first, second);
  const more = [angleSaid(found, unit)];
  if (found.distance === null) more.push(`The two points touched are ${measured(between(first.at, second.at), unit)} apart.`);
  else if (found.distance >= LEAST) more.push(run(found.from, found.to, unit));
  return { what: whatOf(found), figure: label(found, unit), more: more.filter((line) => line !== "") };
}

function whatOf(found: Measure): string {
  if (found.angle === 0) {
    return { "edge edge": "Between parallel edges", "edge face": "From the edge to the face, parallel" }[found.of as string]
      ?? "Between parallel faces";
  }
  return found.distance === null ? `Angle: ${NAMES[found.of].toLowerCase()}` : NAMES[found.of];
}

function angleSaid(found: Measure, unit: Unit): string {
  if (found.angle === null) return "";
  if (found.angle === 0) {
    return found.ends === null ? "" : `They do not lie side by side: their ends are ${measured(found.ends, unit)} apart.`;
  }
  const other = degrees(Math.PI - found.angle);
  const square = degrees(found.angle) === "90°";
  return square ? "They stand square to each other." : `They stand at ${degrees(found.angle)}, or ${other} read the other way.`;
}

/** Below this a run is nothing, mm: half of the finest that is shown. */
const LEAST = 0.05;

/** Return how far one goes to the side, to the back and up from one point to another. */
export function run(from: Point, to: Point, unit: Unit): string {
  const by = minus(to, from);
  const ways: [number, string, string][] = [
    [by[0], "to the right", "to the left"], [by[1], "to the back", "to the front"], [by[2], "up", "down"],
  ];
  const words = ways.filter(([mm]) => Math.abs(mm) >= LEAST)
    .map(([mm, plus, less]) => `${show(Math.abs(mm), unit)} ${mm > 0 ? plus : less}`);
  return words.length > 0 ? `${words.join(", ")}.` : "";
}

/** What was picked, in words. */
export function pickSaid(pick: Pick, name: string): string {
  return `${{ corner: "a point of", edge: "an edge of", face: "a face of" }[pick.kind]} ${name}`;
}
