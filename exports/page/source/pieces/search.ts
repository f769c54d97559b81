/** Finding pieces by name or mark, and those of one mark together. */

import type { Part, Walk } from "../walk.ts";

export interface Group {
  mark: string;
  kind: string;
  /** Their size, when all of them have one. */
  size: string;
  /** Indices of the parts, in the order of the rehearsal. */
  parts: number[];
}

/** Return whether a part answers to what was typed: every word of it begins a word of the name, the mark or the kind
 * ("rail 7" is rail_07 and not rail_17); with `within`, it may stand within one as well. */
export function answers(part: Part, typed: string, within = false): boolean {
  const spoken = ` ${spokenOf(part)}`;
  return wordsOf(typed).every((word) => spoken.includes(within ? word : ` ${word}`));
}

/** Return the parts that answer, by mark; with nothing typed, all. A mark typed as it stands comes first; where no word
 * begins with what was typed, what holds it is found. */
export function found(walk: Walk, typed: string): Group[] {
  const all = walk.parts.map((_, index) => index);
  const exact = all.filter((index) => isMark(walk.parts[index]!, typed));
  const others = (within: boolean): number[] =>
    all.filter((index) => !isMark(walk.parts[index]!, typed) && answers(walk.parts[index]!, typed, within));
  const rest = others(false);
  return [...grouped(walk, exact), ...grouped(walk, rest.length + exact.length > 0 ? rest : others(true))];
}

function isMark(part: Part, typed: string): boolean {
  return typed.trim() !== "" && plain(part.mark) === plain(typed);
}

function grouped(walk: Walk, parts: readonly number[]): Group[] {
  const groups = new Map<string, Group>();
  for (const index of parts) {
    const part = walk.parts[index]!;
    const key = part.mark === "" ? `kind ${part.kind} ${part.size}` : `mark ${part.mark}`;
    const group = groups.get(key);
    if (group === undefined) groups.set(key, { mark: part.mark, kind: part.kind, size: part.size, parts: [index] });
    else {
      group.parts.push(index);
      if (group.size !== part.size) group.size = "";
      if (group.kind !== part.kind) group.kind = "";
    }
  }
  return [...groups.values()];
}

/** Return as many groups as hold `most` parts, the last cut short. */
export function upTo(groups: readonly Group[], most: number): Group[] {
  const some: Group[] = [];
  let left = most;
  for (const group of groups) {
    if (left <= 0) break;
    some.push(group.parts.length <= left ? group : { ...group, parts: group.parts.slice(0, left) });
    left -= group.parts.length;
  }
  return some;
}

export const count = (groups: readonly Group[]): number => groups.reduce((sum, group) => sum + group.parts.length, 0);

const known = new WeakMap<Part, string>();

function spokenOf(part: Part): string {
  const before = known.get(part);
  if (before !== undefined) return before;
  const text = plain(`${part.name} ${part.mark} ${part.kind}`);
  known.set(part, text);
  return text;
}

/** Small letters; underlines, hyphens and stops are spaces; numbers without leading noughts ("rail_07" is "rail 7"). */
function plain(text: string): string {
  return text.toLowerCase().replace(/[_\-.\s]+/gu, " ").replace(/(^|\D)0+(?=\d)/gu, "$1").trim();
}

function wordsOf(typed: string): string[] {
  return plain(typed).split(" ").filter((word) => word !== "");
}

/** The other parts of a part's mark: truly alike, so that they can change places. */
export function sameAs(walk: Walk, index: number): number[] {
  const { mark } = walk.parts[index]!;
  return mark === "" ? [] : walk.parts.flatMap((part, other) => (other !== index && part.mark === mark ? [other] : []));
}
