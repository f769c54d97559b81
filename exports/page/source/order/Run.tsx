/** A glue-up being done: the clock, legible from across the bench, the step that is next, and one large place to touch. */

import { useEffect, useState } from "preact/hooks";
import { walk } from "../state.ts";
import type { Stage, Step } from "../walk.ts";
import { alarm } from "./alarm.ts";
import { counted, MINUTE, stepsOf } from "./clock.ts";
import type { Limit, Reading } from "./clock.ts";
import { beeps, clock, end, hand, kept, run, running, ticking, time, touch, undo } from "./running.ts";
import { Stroke } from "./signs.tsx";
import { useAwake } from "./awake.ts";

export function Run() {
  const index = running.value;
  const stage = index === null ? undefined : walk.value.stages[index];
  const now = clock.value;
  useTicking();
  useAwake();
  useEffect(() => { if (now) alarm(now.state, beeps.value); }, [now?.state]);
  if (!stage || !now) return null;
  const steps = stepsOf(stage, walk.value.steps);
  return (
    <section class={`run ${hand.value} ${now.state.replace(" ", "-")}`} aria-label={`Running ${stage.title}`}>
      <div class="running">
        <Face stage={stage} now={now} steps={steps} />
        <Current steps={steps} now={now} stage={stage} />
        <Rest />
      </div>
      <Tick now={now} steps={steps} />
    </section>
  );
}

function useTicking(): void {
  useEffect(() => {
    const every = setInterval(() => { ticking.value = time.now(); }, 250);
    return () => { clearInterval(every); };
  }, []);
}

/** The clock: what is left for what has to be done next, or how long since. */
function Face({ stage, now, steps }: { stage: Stage; now: Reading; steps: Step[] }) {
  const tight = now.limits[0];
  return (
    <div class="face">
      <h2>{stage.title}</h2>
      <p class="big" role="timer" aria-label={tight ? `${counted(tight.left)} ${tight.left < 0 ? "past the limit" : "left"}` : undefined}>
        {bigOf(now, stage)}
      </p>
      <p class="by">{tight ? limitSaid(tight, steps) : quiet(now, stage)}</p>
      <Warning now={now} steps={steps} />
      {now.limits.slice(1, 3).map((limit) => <p class="other" key={`${limit.what}${limit.by}`}>
        {limit.left < 0 ? `${counted(limit.left)} over: ` : `${counted(limit.left)} `}{limitSaid(limit, steps)}</p>)}
      {now.gone !== null && tight && <p class="other">{counted(now.gone)} since the first glue</p>}
    </div>
  );
}

function bigOf(now: Reading, stage: Stage): string {
  const tight = now.limits[0];
  if (tight) return (tight.left <= 0 ? "+" : "") + counted(tight.left <= 0 ? tight.left : Math.ceil(tight.left / 1000) * 1000);
  if (now.gone === null) return counted(stage.time.open * MINUTE);
  return counted(now.gone);
}

function quiet(now: Reading, stage: Stage): string {
  if (now.state === "done") return "since the first glue: all is ticked";
  return now.gone === null ? `open time of the glue; the clock starts with the first glue (${Math.round(stage.time.needed)} min planned)`
    : "since the first glue; nothing lies open";
}

/** "left to close rail_07 onto far_leg, by 14:32". */
function limitSaid(limit: Limit, steps: Step[]): string {
  const what = limit.what === "open" ? `close up to “${steps[limit.by]?.title ?? ""}”` : "have all clamps on";
  return `${limit.left <= 0 ? "past the limit to" : "left to"} ${what}, by ${atClock(limit.until)}`;
}

function atClock(at: number): string {
  return new Date(at).toLocaleTimeString(undefined, { hour: "2-digit", minute: "2-digit" });
}

function Warning({ now, steps }: { now: Reading; steps: Step[] }) {
  const tight = now.limits[0];
  if (!tight || (now.state !== "soon" && now.state !== "over")) return null;
  return (
    <div class="warning" role="alert">
      <p><b>{now.state === "soon" ? "Soon over." : "Over the limit."}</b> {advice(now.state, tight, steps)}</p>
    </div>
  );
}

function advice(state: "soon" | "over", limit: Limit, steps: Step[]): string {
  const which = `“${steps[limit.by]?.title ?? ""}”`;
  if (limit.what === "open") {
    return state === "soon" ? `Leave everything else: close up to ${which} now.`
      : `What is still open up to ${which} may no longer hold: glue that has skinned over does not wet the other face. ` +
        "Do not force it home. Wipe the glue off and spread it anew if the data sheet lets you; if not, let it set and clean the joint.";
  }
  return state === "soon" ? "Set the clamps now." :
    "Set the clamps at once, without drawing anything apart. Mark these joints: they may be weak. The glue's data sheet decides.";
}

function Current({ steps, now, stage }: { steps: Step[]; now: Reading; stage: Stage }) {
  const step = steps[now.step];
  if (!step) {
    return (
      <div class="current">
        <p class="count">All {steps.length} steps ticked</p>
        <p class="large">{stage.time.clamped > 0 && now.gone !== null
          ? `Clamps come off at ${offAt(stage)} at the earliest.` : "This glue-up is done."}</p>
      </div>
    );
  }
  return (
    <div class="current" aria-live="polite">
      <p class="count">{now.step + 1} of {steps.length}{step.people > 1 ? ` · ${step.people} people` : ""}</p>
      <p class="large">{step.says[0] ?? step.title}</p>
      {step.kind !== "ready" && step.says.slice(1).map((line) => <p key={line}>{line}</p>)}
      {step.glue.length > 0 && <ul class="glue">{step.glue.map((line) => <li key={line}>{line}</li>)}</ul>}
      {steps[now.step + 1] && <p class="coming">Then: {steps[now.step + 1]?.title}</p>}
    </div>
  );
}

function offAt(stage: Stage): string {
  const last = run.value?.touches[run.value.touches.length - 1]?.at ?? time.now();
  const off = new Date(last + stage.time.clamped * MINUTE);
  const sameDay = off.toDateString() === new Date(last).toDateString();
  return off.toLocaleString(undefined, sameDay ? { timeStyle: "short" } : { weekday: "long", hour: "2-digit", minute: "2-digit" });
}

function Tick({ now, steps }: { now: Reading; steps: Step[] }) {
  const done = now.step >= steps.length;
  const says = done ? "Finish" : now.begins ? "First glue on: start its time" : steps[now.step]?.kind === "spread" ? "All spread" : "Done";
  return (
    <button type="button" class="tick-area" onClick={done ? end : touch}>
      <Stroke is="done" /><span>{says}</span>
    </button>
  );
}

/** Undo, stop (asked once), which hand, and whether it beeps. */
function Rest() {
  const [asked, ask] = useState(false);
  const other = hand.value === "left" ? "right" : "left";
  return (
    <div class="rest">
      {asked ? (
        <div class="asked" role="group" aria-label="Stop the run?">
          <p>Stop this run? What is ticked stays written down.</p>
          <button type="button" class="quiet" onClick={end}>Yes, stop</button>
          <button type="button" class="act" onClick={() => { ask(false); }}>Go on</button>
        </div>
      ) : (
        <>
          <button type="button" class="quiet" disabled={(run.value?.touches.length ?? 0) === 0} onClick={undo}>Undo the last tick</button>
          <button type="button" class="quiet" onClick={() => { ask(true); }}>Stop the run</button>
          <button type="button" class="quiet" onClick={() => { hand.value = other; }}>Tick on the {other}</button>
          <label class="check"><input type="checkbox" checked={beeps.value} onChange={(event) => { beeps.value = event.currentTarget.checked; }} /> Beep when time is short</label>
        </>
      )}
      {!kept.value && <p class="small">This browser keeps nothing: a reload would lose the ticks.</p>}
    </div>
  );
}
