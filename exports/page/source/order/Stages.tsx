/** All stages with their steps, to go to. */

import { useState } from "preact/hooks";
import { step, walk } from "../state.ts";
import type { Stage } from "../walk.ts";
import { goTo } from "./player.ts";
import { Severity } from "./signs.tsx";

export function Stages() {
  const all = walk.value;
  const last = all.steps.length - 1;
  return (
    <section class="stages" aria-label="All stages">
      <h3>All stages</h3>
      {all.stages.map((stage, index) => <OneStage key={stage.number} stage={stage} index={index} />)}
      {all.steps[last]?.stage === null && (
        <button type="button" class="jump whole" aria-current={step.value === last ? "step" : undefined}
          onClick={() => { goTo(last); }}>{all.steps[last].title}</button>
      )}
    </section>
  );
}

function OneStage({ stage, index }: { stage: Stage; index: number }) {
  const here = walk.value.steps[step.value]?.stage === index;
  const [opened, setOpened] = useState(false);
  return (
    <details class="fold" open={opened} onToggle={(event) => { setOpened(event.currentTarget.open); }}>
      <summary>
        <span>{stage.title}</span>
        <span class="much">{here ? "you are here" : `${stage.end - stage.first} steps`}</span>
      </summary>
      {opened && <ol class="jumps">{steps(stage)}</ol>}
    </details>
  );
}

const HARM = ["stop", "warn", "note"] as const;

function steps(stage: Stage) {
  const all = walk.value;
  return all.steps.slice(stage.first, stage.end).map((one, k) => {
    const at = stage.first + k;
    const worst = HARM.find((harm) => one.findings.some((number) => all.findings[number]?.severity === harm));
    return (
      <li key={one.id}>
        <button type="button" class="jump" aria-current={step.value === at ? "step" : undefined} onClick={() => { goTo(at); }}>
          <span class="id">{k + 1}</span><span class="what">{one.title}</span>
          {worst && <><Severity is={worst} /><span class="unseen">a finding shows here</span></>}
        </button>
      </li>
    );
  });
}
