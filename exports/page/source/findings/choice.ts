/** Choosing a finding, from the list or by its sign in the work. */

import { batch } from "@preact/signals";
import { finding, opened, playing, tab, walk } from "../state.ts";
import type { Finding } from "../walk.ts";
import { stand } from "./swing.ts";

export const RANK = { stop: 0, warn: 1, note: 2 } as const;

/** Show a finding (index): its card, and the work flown to it. */
export function choose(index: number): void {
  if (walk.value.findings[index] === undefined) return;
  batch(() => {
    playing.value = false;
    tab.value = "findings";
    finding.value = index;
    opened.value = 1;
    stand();
  });
}

/** Show the finding whose sign (its number) was touched in the work. */
export function chooseNumber(says: string): void {
  const index = walk.value.findings.findIndex((f) => String(f.number) === says);
  if (index >= 0) choose(index);
}

/** Indices of the findings, the worst first, else in the order of their numbers; of one severity when it is given. */
export function listed(findings: readonly Finding[], only: Finding["severity"] | null = null): number[] {
  return findings.map((_, index) => index)
    .filter((index) => only === null || findings[index]!.severity === only)
    .sort((a, b) => RANK[findings[a]!.severity] - RANK[findings[b]!.severity] || findings[a]!.number - findings[b]!.number);
}

/** The finding before or after one in the list; null at the ends. */
export function beside(order: readonly number[], index: number, by: 1 | -1): number | null {
  const at = order.indexOf(index);
  return at < 0 ? null : (order[at + by] ?? null);
}
