/** What the rehearsal noticed: the list, worst first, and the card of the one that is chosen. */

import { signal } from "@preact/signals";
import { useLayoutEffect } from "preact/hooks";
import { Severity } from "../order/signs.tsx";
import { finding, walk } from "../state.ts";
import type { Finding } from "../walk.ts";
import { Card } from "./Card.tsx";
import { choose, listed } from "./choice.ts";

/** The severity that alone is listed; null: all. */
const only = signal<Finding["severity"] | null>(null);
/** Findings listed at once; more on request. */
const most = signal(100);

export function Findings() {
  const { findings } = walk.value;
  const chosen = finding.value !== null && findings[finding.value] !== undefined ? finding.value : null;
  const order = listed(findings, only.value);
  useLayoutEffect(() => {
    if (only.value !== null && order.length === 0) only.value = null;
  });
  if (findings.length === 0) return <Nothing />;
  return (
    <section class="findings" aria-label="Findings">
      {chosen === null ? null : <Card key={chosen} index={chosen} order={order.includes(chosen) ? order : listed(findings)} />}
      <div hidden={chosen !== null}>
        <Filter />
        <ol class="plain rows">
          {order.slice(0, most.value).map((index) => <Row key={index} index={index} item={findings[index]!} />)}
        </ol>
        {order.length > most.value
          ? <button type="button" class="plain-button wide" onClick={() => { most.value += 200; }}>Show more</button> : null}
      </div>
    </section>
  );
}

function Nothing() {
  return (
    <section class="findings" aria-label="Findings">
      <h2>Nothing amiss.</h2>
      <p>Every joint closes, and nothing stands in the way of anything else. Mark the pieces, lay out the clamps, and enjoy the glue-up.</p>
      {walk.value.planned ? null : <p class="soft">The order is still being worked out; it may yet bring something.</p>}
    </section>
  );
}

const SEVERITIES = ["stop", "warn", "note"] as const;
const SAID = { stop: "STOP", warn: "WARN", note: "note" } as const;

/** Only of use where there are findings of several weights, and more than can be seen at once. */
function Filter() {
  const { findings } = walk.value;
  const counts = SEVERITIES.map((severity) => findings.filter((f) => f.severity === severity).length);
  if (findings.length < 6 || counts.filter((n) => n > 0).length < 2) return null;
  return (
    <div class="filter" role="group" aria-label="Show only">
      <button type="button" aria-pressed={only.value === null} onClick={() => { only.value = null; }}>All {findings.length}</button>
      {SEVERITIES.map((severity, i) => counts[i] === 0 ? null : (
        <button type="button" key={severity} class={severity} aria-pressed={only.value === severity}
          onClick={() => { only.value = severity; }}>{counts[i]} {SAID[severity]}</button>
      ))}
    </div>
  );
}

function Row({ index, item }: { index: number; item: Finding }) {
  const stage = item.stage === null ? undefined : walk.value.stages[item.stage];
  return (
    <li>
      <button type="button" id={`finding-${index}`} class={`row ${item.severity}`} onClick={() => { choose(index); }}>
        <span class="number">{item.number}</span>
        <span class="body">
          <span class="head"><span class="word"><Severity is={item.severity} /> {item.sign}</span>{item.amount === "" ? null : <span class="amount">{item.amount}</span>}</span>
          <span class="title name">{item.title}</span>
          {stage === undefined ? null : <span class="soft">{stage.title}</span>}
        </span>
      </button>
    </li>
  );
}
