/** A glue-up being done: the clock, legible from across the bench, the step that is next, and one large place to touch. */

import { useEffect, useRef, useState } from "preact/hooks";
import { walk } from "../state.ts";
import type { Stage, Step } from "../walk.ts";
import { alarm } from "./alarm.ts";
import { counted, MINUTE, stepsOf } from "./clock.ts";
import type { Limit, Reading } from "./clock.ts";
import { beeps, clock, end, hand, kept, run, running, ticking, time, touch, undo } from "./running.ts";
import { said } from "./Order.tsx";
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
      <Face stage={stage} now={now} steps={steps} />
      <div class="running">
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
  const big = bigOf(now, stage);
  const size = `min(calc((100cqi - 3.4rem) / ${(WIDE * big.length).toFixed(2)}), 26vh)`;
  return (
    <div class="face">
      <h1>{stage.title}</h1>
      <p class="big" role="timer" style={{ fontSize: size }}>{big}</p>
      <p class="by">{tight ? limitSaid(tight, now, steps) : quiet(now, stage)}</p>
      <Warning now={now} />
      {now.limits.slice(1, 3).map((limit) => <p class="other" key={`${limit.what}${limit.by}`}>
        {counted(limit.left)} {limitSaid(limit, now, steps)}</p>)}
      {now.gone !== null && tight && <p class="other">{counted(now.gone)} since the first glue</p>}
    </div>
  );
}

/** The width of one of the clock's letters, as a share of its height. */
const WIDE = 0.64;

function bigOf(now: Reading, stage: Stage): string {
  const tight = now.limits[0];
  if (tight) return tight.left > 0 ? counted(Math.ceil(tight.left / 1000) * 1000) : `+${counted(tight.left)}`;
  if (now.gone === null) return counted(stage.time.open * MINUTE);
  return counted(now.gone);
}

function quiet(now: Reading, stage: Stage): string {
  if (now.state === "done") return "since the first glue; all is ticked";
  return now.gone === null ? `is how long the glue stays open. The clock starts with the first glue; planned are ${Math.max(1, Math.round(stage.time.needed))} min.`
    : "since the first glue; nothing lies open";
}

/** "left to close 3 more, up to “rail_07 onto far_leg”, by 14:32". */
function limitSaid(limit: Limit, now: Reading, steps: Step[]): string {
  const left = limit.left > 0 ? "left to" : "past the time to";
  if (limit.what === "closed") return `${left} have all clamps on, by ${atClock(limit.until)}`;
  const more = steps.slice(now.step, limit.by + 1).filter((step) => step.kind === "move").length;
  const last = `“${brief(steps[limit.by]?.title ?? "")}”`;
  return `${left} close ${more > 1 ? `${more} more, up to ${last},` : last} by ${atClock(limit.until)}`;
}

/** Titles longer than this, in letters, are cut short under the clock. */
const BRIEF = 70;

function brief(title: string): string {
  return title.length <= BRIEF ? title : `${title.slice(0, BRIEF)}…`;
}

function atClock(at: number): string {
  return new Date(at).toLocaleTimeString(undefined, { hour: "2-digit", minute: "2-digit" });
}

function Warning({ now }: { now: Reading }) {
  const tight = now.limits[0];
  if (!tight || (now.state !== "soon" && now.state !== "over")) return null;
  return <p class="warning" role="alert"><b>{now.state === "soon" ? "Time is short." : "Too late."}</b> {advice(now.state, tight)}</p>;
}

/** What to do near a limit and past it (common practice, no source; the glue's data sheet comes first). */
function advice(state: "soon" | "over", limit: Limit): string {
  if (state === "soon") return limit.what === "open" ? "Leave everything else and close." : "Set the clamps now.";
  return limit.what === "open"
    ? "What is still open may not hold. Do not force it: wipe it clean and spread anew, or leave that joint for another glue-up."
    : "Clamp now, draw nothing apart, and mark these joints: they may be weak. The glue’s data sheet decides.";
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
  const { large, more } = said(step);
  return (
    <div class="current" aria-live="polite">
      <p class="count">{now.step + 1} of {steps.length}{step.people > 1 ? ` · ${step.people} people` : ""}</p>
      <p class="large">{large}</p>
      {step.kind !== "ready" && more.map((line) => <p key={line}>{line}</p>)}
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

/** The large place to touch; it has the focus while the run lasts, so that Space and Enter tick too. */
function Tick({ now, steps }: { now: Reading; steps: Step[] }) {
  const place = useRef<HTMLButtonElement>(null);
  useEffect(() => {
    place.current?.focus({ preventScroll: true });
    return () => { setTimeout(() => document.getElementById("panel")?.focus({ preventScroll: true })); };
  }, []);
  const done = now.step >= steps.length;
  const says = done ? "Finish" : now.begins ? "First glue on: start its time" : steps[now.step]?.kind === "spread" ? "All spread" : "Done";
  return (
    <button ref={place} type="button" class="tick-area" onClick={done ? end : touch}>
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
          {clock.value?.state !== "done" && <button type="button" class="quiet" onClick={() => { ask(true); }}>Stop the run</button>}
          <button type="button" class="quiet" onClick={() => { hand.value = other; }}>Tick on the {other}</button>
          <label class="check"><input type="checkbox" checked={beeps.value} onChange={(event) => { beeps.value = event.currentTarget.checked; }} /> Beep when time is short</label>
        </>
      )}
      {!kept.value && <p class="small">This browser keeps nothing: a reload would lose the ticks.</p>}
    </div>
  );
}
