/** All pieces by mark, with a field to find one. */

import { signal } from "@preact/signals";
import { useMemo } from "preact/hooks";
import { hidden, piece, walk } from "../state.ts";
import { count, found, upTo, type Group } from "./search.ts";

/** What was typed, and how many pieces are listed; both outlive the card that is opened from the list. */
const typed = signal("");
const most = signal(60);
const MORE = 200;

export function List() {
  const all = walk.value;
  const groups = useMemo(() => found(all, typed.value), [all, typed.value]);
  const total = count(groups);
  return (
    <>
      <h2 class="hush">All pieces</h2>
      <label class="find">
        <span>Find by name or mark</span>
        <input type="search" value={typed.value} autocomplete="off" spellcheck={false} enterkeyhint="search"
          onInput={(event) => { typed.value = event.currentTarget.value; most.value = 60; }} />
      </label>
      <p class="soft" role="status">{counted(total, all.parts.length)}</p>
      <ul class="plain marks">{upTo(groups, most.value).map((group) => <OfMark key={keyOf(group)} group={group} />)}</ul>
      {total > most.value
        ? <button type="button" class="plain-button wide" onClick={() => { most.value += MORE; }}>{`Show ${Math.min(MORE, total - most.value)} more`}</button>
        : null}
    </>
  );
}

const keyOf = (group: Group): string => `${group.mark} ${group.parts[0]}`;

function counted(total: number, of: number): string {
  if (typed.value.trim() === "") return of === 1 ? "One piece" : `${of} pieces`;
  if (total === 0) return "No piece has that name or mark.";
  return total === 1 ? "One piece found" : `${total} pieces found`;
}

function OfMark({ group }: { group: Group }) {
  return (
    <li class="of-mark">
      <div class="mark-head">
        <span class="mark" aria-hidden="true">{group.mark || "–"}</span>
        <div>
          <h3>
            <span class="hush">{group.mark === "" ? "Without a mark: " : `Mark ${group.mark}: `}</span>
            {group.parts.length} × <span class="name">{group.kind === "" ? "piece" : group.kind.replaceAll("_", " ")}</span>
          </h3>
          {group.size === "" ? null : <p class="soft">{group.size}</p>}
        </div>
      </div>
      <ul class="plain chips">{group.parts.map((index) => <Row key={index} index={index} />)}</ul>
    </li>
  );
}

function Row({ index }: { index: number }) {
  const part = walk.value.parts[index]!;
  const away = hidden.value.has(index);
  const gone = part.home === null;
  return (
    <li>
      <button type="button" id={`piece-${index}`} class={away || gone ? "dim" : ""} onClick={() => { piece.value = index; }}>
        <span class="name">{part.name}</span>
        {away ? <span class="soft"> hidden</span> : null}
        {gone ? <span class="soft"> leaves again</span> : null}
      </button>
    </li>
  );
}
