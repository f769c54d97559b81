/** What was picked and measured, drawn into whatever is shown. */

import { kindOf, measure } from "../measure/distance.ts";
import { middle } from "../measure/vectors.ts";
import { label } from "../measure/words.ts";
import type { Line, Moment, Sign } from "../moment.ts";
import type { Pick } from "../state.ts";
import type { Unit } from "../units.ts";

/** Return the moment with the picks marked and, when there are two, the line between them with its figure. */
export function withMeasure(moment: Moment, picked: readonly Pick[], unit: Unit): Moment {
  const [first, second] = picked;
  if (first === undefined) return moment;
  const lines: Line[] = [];
  const signs: Sign[] = [];
  picked.slice(0, 2).forEach((pick, index) => {
    if (kindOf(pick) === "edge") lines.push({ points: [...pick.ends!], look: "trail" });
    if (second === undefined) signs.push({ at: pick.at, look: "label", says: ["first", "second"][index]! });
  });
  if (second !== undefined) {
    const found = measure(first, second);
    lines.push({ points: [found.from, found.to], look: "measure" });
    signs.push({ at: middle(found.from, found.to), look: "label", says: label(found, unit) });
  }
  return { ...moment, lines: [...moment.lines, ...lines], signs: [...moment.signs, ...signs] };
}
