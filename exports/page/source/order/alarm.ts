/** What is felt and heard when time runs short: a vibration where there is one, a beep where it is wanted. */

import type { Reading } from "./clock.ts";

const PATTERNS: Partial<Record<Reading["state"], number[]>> = { soon: [250, 120, 250], over: [600, 150, 600, 150, 600] };

/** Warns once for a state of the clock; a page that nobody has touched yet may do neither. */
export function alarm(state: Reading["state"], beep: boolean): void {
  const pattern = PATTERNS[state];
  if (!pattern || !navigator.userActivation?.hasBeenActive) return;
  try {
    navigator.vibrate?.(pattern);
    if (beep) sound(state === "over" ? 3 : 2);
  } catch {
    // A device that can do neither still shows the words.
  }
}

function sound(count: number): void {
  const audio = new AudioContext();
  const loud = audio.createGain();
  loud.gain.value = 0.25;
  loud.connect(audio.destination);
  for (let k = 0; k < count; k++) {
    const tone = audio.createOscillator();
    tone.frequency.value = 880;
    tone.connect(loud);
    tone.start(audio.currentTime + 0.45 * k);
    tone.stop(audio.currentTime + 0.45 * k + 0.25);
    if (k === count - 1) tone.onended = () => { void audio.close(); };
  }
}
