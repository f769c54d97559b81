/** Swinging a part between the wrong way round and the right one. */

import { signal } from "@preact/signals";
import { way } from "../state.ts";

/** Where the part is on its swing: 0 the wrong way round, 1 the right one. */
export const swing = signal(0);

/** How long a swing takes, ms. */
const LASTS = 900;
let turn = 0;

/** Show the part the one way round or the other; it swings there unless the reader wants nothing to move. */
export function swingTo(next: "wrong" | "right"): void {
  way.value = next;
  const to = next === "right" ? 1 : 0;
  const from = swing.value;
  cancelAnimationFrame(turn);
  if (matchMedia("(prefers-reduced-motion: reduce)").matches) {
    swing.value = to;
    return;
  }
  const begun = performance.now();
  const frame = (time: number): void => {
    const done = Math.min(1, Math.max(0, (time - begun) / (LASTS * Math.max(0.2, Math.abs(to - from)))));
    swing.value = from + (to - from) * eased(done);
    if (done < 1) turn = requestAnimationFrame(frame);
  };
  turn = requestAnimationFrame(frame);
}

/** Show the part the wrong way round at once: so a finding is met. */
export function stand(): void {
  cancelAnimationFrame(turn);
  way.value = "wrong";
  swing.value = 0;
}

/** Slow, fast, slow: a hand's motion. */
export function eased(share: number): number {
  return share * share * (3 - 2 * share);
}
