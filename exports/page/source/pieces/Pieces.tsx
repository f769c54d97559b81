/** The pieces: found by name or mark, chosen, hidden, spread apart. */

import { alone, hidden, piece, walk } from "../state.ts";
import { Card } from "./Card.tsx";
import { List } from "./List.tsx";
import { Spread } from "./Spread.tsx";

export function Pieces() {
  const chosen = piece.value !== null && walk.value.parts[piece.value] !== undefined ? piece.value : null;
  return (
    <section class="pieces" aria-label="Pieces">
      {chosen === null ? <Spread /> : <Card key={chosen} index={chosen} />}
      <Hidden />
      <div hidden={chosen !== null}><List /></div>
    </section>
  );
}

/** What is out of sight, and how to bring it back. */
function Hidden() {
  const away = [...hidden.value].filter((index) => walk.value.parts[index] !== undefined);
  if (away.length === 0 && !alone.value) return null;
  const shown = away.slice(0, MOST);
  return (
    <div class="away">
      {alone.value && piece.value !== null
        ? <p>One piece is shown alone.</p>
        : <p>{away.length === 1 ? "One piece is hidden." : `${away.length} pieces are hidden.`}</p>}
      <ul class="plain chips">
        {shown.map((index) => (
          <li key={index}>
            <button type="button" onClick={() => { bring(index); }}>
              <span class="hush">Bring back </span><span class="name">{walk.value.parts[index]!.name}</span>
            </button>
          </li>
        ))}
      </ul>
      {away.length > MOST ? <p class="soft">and {away.length - MOST} more</p> : null}
      <button type="button" class="plain-button" onClick={() => { hidden.value = new Set(); alone.value = false; }}>Show all</button>
    </div>
  );
}

const MOST = 12;

function bring(index: number): void {
  const left = new Set(hidden.value);
  left.delete(index);
  hidden.value = left;
}
