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

/** Return whether a part answers to what was typed: every word of it in the name, the mark or the kind. A word that
 * is a mark as it stands finds that mark before anything that merely holds those letters. */
export function answers(part: Part, typed: string): boolean {
  return wordsOf(typed).every((word) => spoken(part).includes(word));
}

/** Return the parts that answer, by mark; with nothing typed, all. */
export function found(walk: Walk, typed: string): Group[] {
  const exact = walk.parts.flatMap((part, index) => (isMark(part, typed) ? [index] : []));
  const rest = walk.parts.flatMap((part, index) => (!isMark(part, typed) && answers(part, typed) ? [index] : []));
  return [...grouped(walk, exact), ...grouped(walk, rest)];
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

const spokenOf = new WeakMap<Part, string>();

function spoken(part: Part): string {
  let text = spokenOf.get(part);
  if (text === undefined) {
    text = plain(`${part.name} ${part.mark} ${part.kind}`);
    spokenOf.set(part, text);
  }
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
