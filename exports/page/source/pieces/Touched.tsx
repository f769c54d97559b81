/** The piece that was touched in the work, with the way to its card. */

import { measuring, piece, showing, tab, walk } from "../state.ts";
import { hide } from "./Card.tsx";

export function Touched() {
  const index = piece.value;
  const part = index === null ? undefined : walk.value.parts[index];
  if (index === null || part === undefined || tab.value === "pieces" || measuring.value) return null;
  return (
    <div class="touched" role="group" aria-label={`Touched: ${part.name}`}>
      {part.mark === "" ? null : <span class="mark">{part.mark}</span>}
      <span class="name">{part.name}</span>
      <span class="ends">
        <button type="button" onClick={() => { tab.value = "pieces"; }}>Its card</button>
        {showing.value === "step" ? <button type="button" onClick={() => { hide(index, true); piece.value = null; }}>Hide</button> : null}
        <button type="button" onClick={() => { piece.value = null; }}>Close</button>
      </span>
    </div>
  );
}
