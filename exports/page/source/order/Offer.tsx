/** The offer to do a stage's glue-up with the clock, and what was done of it before. */

import { walk } from "../state.ts";
import type { Stage } from "../walk.ts";
import { canRun, counted, stepsOf } from "./clock.ts";
import { underWay } from "./record.ts";
import type { Run } from "./record.ts";
import { begin, earlier, time } from "./running.ts";

export function Offer({ stage, large }: { stage: Stage; large: boolean }) {
  const index = walk.value.stages.indexOf(stage);
  if (!canRun(stage, walk.value.steps)) return null;
  const open = underWay(earlier(index), time.now()) !== null;
  return (
    <div class="offer">
      <button type="button" class={large || open ? "act" : "quiet"} onClick={() => { begin(index); }}>
        {open ? "Back to the running glue-up" : "Run this glue-up"}
      </button>
      {large && <p class="small">With a clock for the glue. Tick each step with the side of your thumb.</p>}
    </div>
  );
}

export function Earlier({ stage }: { stage: Stage }) {
  const done = earlier(walk.value.stages.indexOf(stage)).filter((run) => run.ended !== null && run.touches.length > 0);
  const last = done[done.length - 1];
  if (!last) return null;
  return <p class="small earlier">{said(last, stepsOf(stage, walk.value.steps).length)}</p>;
}

function said(run: Run, steps: number): string {
  const first = run.touches[0]?.at ?? run.started;
  const latest = run.touches[run.touches.length - 1]?.at ?? run.started;
  const ticked = run.touches.filter((touch) => touch.what === "done").length;
  const when = new Date(run.started).toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
  const much = ticked >= steps ? "all steps ticked" : `stopped after ${ticked} of ${steps} steps`;
  return `Run on ${when}: ${counted(latest - first)} from the first tick to the last, ${much}.`;
}
