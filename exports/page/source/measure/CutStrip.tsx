/** Where the work is cut open, and which side is taken off. */

import { beyond } from "../scene/looking.ts";
import { cut as state, type Cut } from "../state.ts";
import { percent } from "../units.ts";

const WAYS = [["Across", "from left to right"], ["Along", "from front to back"], ["Up", "from the ground up"]] as const;

export function CutStrip({ cut }: { cut: Cut }) {
  const set = (change: Partial<Cut>): void => { state.value = { ...cut, ...change }; };
  const turn = (axis: Cut["axis"]): void => { set({ axis, flipped: !beyond(axis) }); };
  const [, along] = WAYS[cut.axis];
  return (
    <div class="strip" role="group" aria-label="Cut the work open">
      <div class="words">
        {WAYS.map(([word], axis) => (
          <button type="button" key={word} aria-pressed={cut.axis === axis} onClick={() => { turn(axis as Cut["axis"]); }}>{word}</button>
        ))}
        <button type="button" onClick={() => { set({ flipped: !cut.flipped }); }}>Other side</button>
      </div>
      <label class="slide">
        <span>Where</span>
        <input type="range" min="0" max="1" step="0.005" value={cut.at} aria-valuetext={`${percent(cut.at)} of the way ${along}`}
          onInput={(event) => { set({ at: Number(event.currentTarget.value) }); }} />
      </label>
    </div>
  );
}
