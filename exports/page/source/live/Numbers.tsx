/** The design's named numbers as fields, grouped as in the file; a changed one is written back into it. */

import { signal } from "@preact/signals";
import { walk } from "../state.ts";
import type { NamedNumber } from "../walk.ts";
import { Field } from "./Field.tsx";
import { changes, numberOf, numbers, told, undo } from "./numbers.ts";
import "./live.css";

/** With more numbers than this one can look for some. */
const MANY = 16;
const sought = signal("");

export function Numbers() {
  const all = numbers.value;
  if (all.length === 0) return <section class="numbers" aria-label="Numbers"><p>{nothing()}</p></section>;
  const found = matching(all, sought.value);
  return (
    <section class="numbers" aria-label="Numbers">
      <p class="soft">A changed number is written into {walk.value.file}; all else there stays as it is. Enter writes it.</p>
      <Undo />
      {all.length > MANY ? <Search found={found.length} /> : null}
      {groups(found).map(([group, some]) => (
        <fieldset key={group}>
          <legend>{group}</legend>
          {some.map((one) => <Field key={one.key} number={one} />)}
        </fieldset>
      ))}
      <p class="hush" role="status">{told.value}</p>
    </section>
  );
}

function nothing(): string {
  return walk.value.parts.length > 0 ? "This work has no named numbers to change."
    : "The numbers stand here as soon as the file can be read.";
}

function Undo() {
  const last = changes.value.at(-1);
  const number = last && numberOf(last.key);
  if (!last || !number) return null;
  return (
    <button type="button" class="undo" onClick={() => { void undo(); }}>
      Undo: {number.says} back to {last.from}
    </button>
  );
}

function Search({ found }: { found: number }) {
  return (
    <label class="find">
      <span>Find a number</span>
      <input type="search" value={sought.value} autocomplete="off" spellcheck={false}
        onInput={(event) => { sought.value = event.currentTarget.value; }} />
      <span class="soft" role="status">{sought.value === "" ? "" : found === 1 ? "1 number" : `${found} numbers`}</span>
    </label>
  );
}

/** The numbers of which every word sought is a part of name, table or meaning. */
export function matching(all: readonly NamedNumber[], words: string): readonly NamedNumber[] {
  const wanted = words.toLowerCase().split(/[\s_.]+/).filter((word) => word !== "");
  return all.filter((one) => {
    const text = `${one.group} ${one.says} ${one.hint}`.toLowerCase();
    return wanted.every((word) => text.includes(word));
  });
}

function groups(all: readonly NamedNumber[]): [string, NamedNumber[]][] {
  const found = new Map<string, NamedNumber[]>();
  for (const one of all) found.set(one.group, [...found.get(one.group) ?? [], one]);
  return [...found];
}
