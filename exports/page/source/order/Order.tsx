/** The card of the order: what to do in this step, large; what it needs; what comes next; and all the steps below. */

import { finding, step, tab, walk } from "../state.ts";
import type { Stage, Step } from "../walk.ts";
import { Earlier, Offer } from "./Offer.tsx";
import { Severity } from "./signs.tsx";
import { Stages } from "./Stages.tsx";

/** Steps once the glue-up is done. */
const AFTER = ["wait", "take away", "cut"];

export function Order() {
  const all = walk.value;
  const now = all.steps[step.value];
  if (!now) return null;
  if (!all.planned) return <Unplanned />;
  const stage = now.stage === null ? undefined : all.stages[now.stage];
  return (
    <div class="order">
      <article class="step">
        <Where stage={stage} />
        <Told now={now} />
        <Needs now={now} stage={stage} />
        <Found now={now} />
        <Coming />
      </article>
      {stage && !AFTER.includes(now.kind) && <Offer stage={stage} large={now.kind === "ready"} />}
      {stage && <Earlier stage={stage} />}
      {!stage && <Standing />}
      <Stages />
      {stage && stage.says.length > 0 && <Lines title={`All about stage ${stage.number}`} lines={stage.says} />}
      <Lines title="About the work" lines={[...(all.says ? [all.says] : []), ...all.about, ...all.quality, ...all.cautions]} />
    </div>
  );
}

/** While a served page still waits for the order. */
function Unplanned() {
  const { parts, about } = walk.value;
  return (
    <div class="order">
      <article class="step">
        <p class="large">{parts.length > 0 ? "The order is still being worked out. The work is shown as it will stand." : "Nothing can be shown yet."}</p>
        {about.map((line) => <p key={line}>{line}</p>)}
      </article>
    </div>
  );
}

function Where({ stage }: { stage: Stage | undefined }) {
  const count = stage ? `step ${step.value - stage.first + 1} of ${stage.end - stage.first}` : "the last step";
  return (
    <header class="where">
      <h2>{stage ? stage.title : "The finished work"}</h2>
      <p class="count">{count}</p>
    </header>
  );
}

/** A sentence longer than this, in letters, does not go large; the step's title does then. */
const LARGE_MOST = 100;

/** What of a step is said large, and what below it. */
export function said(now: Step): { large: string; more: string[] } {
  const [first, ...more] = now.says;
  if (first !== undefined && first.length <= LARGE_MOST) return { large: first, more };
  return { large: now.title, more: now.says };
}

function Told({ now }: { now: Step }) {
  const { large, more } = said(now);
  return (
    <div class="told">
      <p class="large">{large}</p>
      {more.map((line) => <p key={line}>{line}</p>)}
      {now.glue.length > 0 && <ul class="glue">{now.glue.map((line) => <li key={line}>{line}</li>)}</ul>}
    </div>
  );
}

/** People and minutes, as far as the step has any. */
function Needs({ now, stage }: { now: Step; stage: Stage | undefined }) {
  const needs: string[] = [];
  if (now.people > 0) needs.push(now.people === 1 ? "1 person" : `${now.people} people`);
  if (now.minutes && stage) needs.push(minutesOf(now.minutes, stage.time.needed));
  if (now.kind === "spread" && stage && stage.time.open > 0) needs.push(`glue stays open ${Math.round(stage.time.open)} min`);
  if (needs.length === 0) return null;
  return <p class="needs">{needs.map((need) => <span key={need}>{need}</span>)}</p>;
}

/** "12 to 14 min of 45": from when to when of the whole glue-up. */
export function minutesOf(minutes: [number, number], needed: number): string {
  const from = Math.floor(minutes[0]);
  const to = Math.max(from + 1, Math.ceil(minutes[1]));
  return `${from} to ${to} min of ${Math.max(to, Math.ceil(needed))}`;
}

function Found({ now }: { now: Step }) {
  if (now.findings.length === 0) return null;
  return (
    <div class="found">
      {now.findings.map((number) => {
        const one = walk.value.findings[number];
        if (!one) return null;
        return (
          <button type="button" key={number} class={`finding-here ${one.severity}`} onClick={() => { showFinding(number); }}>
            <Severity is={one.severity} /><span><b>{one.sign} {one.number}</b> {one.title}</span>
          </button>
        );
      })}
    </div>
  );
}

function showFinding(number: number): void {
  finding.value = number;
  tab.value = "findings";
}

function Coming() {
  const next = walk.value.steps[step.value + 1];
  if (!next) return null;
  const stage = next.stage === null ? undefined : walk.value.stages[next.stage];
  const same = next.stage === walk.value.steps[step.value]?.stage;
  return <p class="coming">Then: {same || !stage ? "" : `${stage.title}. `}{next.title}</p>;
}

function Standing() {
  const { verdict } = walk.value;
  return <p class="verdict">{verdict.said}</p>;
}

function Lines({ title, lines }: { title: string; lines: string[] }) {
  return (
    <details class="fold">
      <summary>{title}</summary>
      <div class="lines">{lines.map((line, k) => <p key={k} class={line.startsWith("- ") ? "item" : ""}>{line.replace(/^- /, "")}</p>)}</div>
    </details>
  );
}
