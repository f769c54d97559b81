/** Addresses that open at a step, a finding or a piece: "#step=2.5", "#finding=3", "#piece=rail_07". */

import type { Walk } from "../walk.ts";

export type Place =
  | { kind: "step"; step: number }
  | { kind: "finding"; finding: number }
  | { kind: "piece"; piece: number };

/** The place that an address names, or null when it names none that there is. */
export function placeIn(hash: string, walk: Walk): Place | null {
  const found = /^#?(step|finding|piece)=(.*)$/s.exec(hash);
  if (!found) return null;
  const said = readable(found[2] ?? "");
  if (found[1] === "step") {
    const step = stepNamed(said, walk);
    return step === null ? null : { kind: "step", step };
  }
  if (found[1] === "finding") {
    const finding = walk.findings.findIndex((one) => String(one.number) === said);
    return finding < 0 ? null : { kind: "finding", finding };
  }
  const piece = walk.parts.findIndex((one) => one.name === said);
  return piece < 0 ? null : { kind: "piece", piece };
}

function readable(said: string): string {
  try {
    return decodeURIComponent(said);
  } catch {
    return said;
  }
}

/** The step of this name; of a stage that has become shorter its last step; of a stage that is gone none. */
export function stepNamed(id: string, walk: Walk): number | null {
  const exact = walk.steps.findIndex((step) => step.id === id);
  if (exact >= 0) return exact;
  const [stage, number] = id.split(".");
  const of = walk.stages.find((one) => String(one.number) === stage);
  if (!of || number === undefined || !/^\d+$/.test(number)) return null;
  return Math.max(of.first, of.end - 1);
}

export function linkTo(place: Place, walk: Walk): string {
  if (place.kind === "step") return `#step=${encodeURIComponent(walk.steps[place.step]?.id ?? "")}`;
  if (place.kind === "finding") return `#finding=${walk.findings[place.finding]?.number ?? ""}`;
  return `#piece=${encodeURIComponent(walk.parts[place.piece]?.name ?? "")}`;
}
