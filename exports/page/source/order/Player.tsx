/** Back, Play and Next, where the side of a thumb finds them. */

import { playing, share, step, walk } from "../state.ts";
import { back, next, playOrPause } from "./player.ts";
import { Stroke } from "./signs.tsx";

export function Back() {
  return (
    <button type="button" class="foot back" disabled={step.value === 0} onClick={back}>
      <Stroke is="back" /><span>Back</span>
    </button>
  );
}

export function Next() {
  const last = step.value >= walk.value.steps.length - 1 && share.value >= 1;
  return (
    <button type="button" class="foot next" disabled={last} onClick={next}>
      <span>Next</span><Stroke is="next" />
    </button>
  );
}

export function Play() {
  return (
    <button type="button" class="foot play" disabled={walk.value.steps.length < 2} onClick={playOrPause}>
      <Stroke is={playing.value ? "pause" : "play"} /><span>{playing.value ? "Pause" : "Play"}</span>
    </button>
  );
}
