/** How far the finished work is spread apart, along the ways its pieces come in. */

import { apart } from "../state.ts";
import { percent } from "../units.ts";

export function Spread() {
  return (
    <label class="slide">
      <span>Spread apart</span>
      <input type="range" min="0" max="1" step="0.01" value={apart.value}
        aria-valuetext={apart.value === 0 ? "together" : `${percent(apart.value)} apart`}
        onInput={(event) => { apart.value = Number(event.currentTarget.value); }} />
      <output aria-hidden="true">{apart.value === 0 ? "together" : percent(apart.value)}</output>
    </label>
  );
}
