/** The card of one finding. */

import { useLayoutEffect } from "preact/hooks";
import { useOpened } from "../shell/opened.ts";
import { goTo, stepOfFinding } from "../moment/going.ts";
import { Severity } from "../order/signs.tsx";
import { finding, opened, piece, tab, walk, way } from "../state.ts";
import { percent } from "../units.ts";
import type { Finding } from "../walk.ts";
import { beside, choose } from "./choice.ts";
import { stand, swingTo } from "./swing.ts";

export function Card({ index, order }: { index: number; order: readonly number[] }) {
  const item = walk.value.findings[index]!;
  const heading = useOpened();
  useLayoutEffect(stand, []);
  return (
    <article class={`finding-card ${item.severity}`} aria-labelledby="finding-title" onKeyDown={(event) => { if (event.key === "Escape") close(index); }}>
      <button type="button" class="back" onClick={() => { close(index); }}>All findings</button>
      <header>
        <span class="number" aria-hidden="true">{item.number}</span>
        <h2 id="finding-title" tabIndex={-1} ref={heading} class="name">
          <span class="word"><Severity is={item.severity} /> {item.sign}<span class="hush"> {item.number}:</span></span> {item.title}
        </h2>
        {item.amount === "" ? null : <p class="amount"><span class="hush">How much: </span>{item.amount}</p>}
      </header>
      <Turned item={item} />
      <p class="name">{item.message}</p>
      <Apart item={item} />
      <h3>What to do</h3>
      <p class="name">{item.remedy}</p>
      <Pencil item={item} />
      <Facts item={item} index={index} />
      <Beside index={index} order={order} />
    </article>
  );
}

function close(index: number): void {
  finding.value = null;
  requestAnimationFrame(() => { document.getElementById(`finding-${index}`)?.focus(); });
}

/** Both ways round of a part that can go in backwards. */
function Turned({ item }: { item: Finding }) {
  if (item.turned === null) return null;
  return (
    <div class="turned">
      <div class="two" role="group" aria-label="Which way round is shown">
        <button type="button" class="wrong" aria-pressed={way.value === "wrong"} onClick={() => { swingTo("wrong"); }}>Wrong way round</button>
        <button type="button" class="right" aria-pressed={way.value === "right"} onClick={() => { swingTo("right"); }}>Right way round</button>
      </div>
      <p class="name" role="status">Shown: {way.value === "wrong" ? item.turned.wrongSays : item.turned.rightSays}</p>
    </div>
  );
}

function Apart({ item }: { item: Finding }) {
  if (item.apart.length === 0) return null;
  const said = opened.value === 0 ? "together" : percent(opened.value);
  return (
    <label class="slide">
      <span>Draw apart</span>
      <input type="range" min="0" max="1" step="0.01" value={opened.value} aria-valuetext={opened.value === 0 ? "together" : `${said} apart`}
        onInput={(event) => { opened.value = Number(event.currentTarget.value); }} />
      <output aria-hidden="true">{said}</output>
    </label>
  );
}

function Pencil({ item }: { item: Finding }) {
  const at = item.pencil;
  const part = at === null ? undefined : walk.value.parts[at.part];
  const mark = at === null ? undefined : part?.pencil[at.mark];
  if (part === undefined || mark === undefined) return null;
  return (
    <>
      <h3>Pencil this on <span class="name">{part.name}</span></h3>
      <p class="name">{mark.says}</p>
    </>
  );
}

function Facts({ item, index }: { item: Finding; index: number }) {
  const step = stepOfFinding(walk.value, index);
  const stage = item.stage === null ? undefined : walk.value.stages[item.stage];
  return (
    <dl class="facts">
      {item.spot === "" ? null : <div><dt>Where</dt><dd class="name">{item.spot}</dd></div>}
      <div>
        <dt>Shows in</dt>
        <dd>{step === null ? stage?.title ?? "the finished work"
          : <button type="button" class="go name" onClick={() => { goTo(step); }}>{stage?.title ?? walk.value.steps[step]!.title}</button>}</dd>
      </div>
      {item.parts.length === 0 ? null : (
        <div>
          <dt>{item.parts.length === 1 ? "Piece" : "Pieces"}</dt>
          <dd><ul class="plain chips">{item.parts.slice(0, LISTED).map((part) => (
            <li key={part}><button type="button" class="name" onClick={() => { piece.value = part; tab.value = "pieces"; }}>{walk.value.parts[part]?.name}</button></li>
          ))}</ul>{item.parts.length > LISTED ? <span class="soft">and {item.parts.length - LISTED} more</span> : null}</dd>
        </div>
      )}
    </dl>
  );
}

const LISTED = 8;

function Beside({ index, order }: { index: number; order: readonly number[] }) {
  const [before, after] = [beside(order, index, -1), beside(order, index, 1)];
  return (
    <nav class="two" aria-label="Other findings">
      <button type="button" disabled={before === null} onClick={() => { if (before !== null) choose(before); }}>Finding before</button>
      <button type="button" disabled={after === null} onClick={() => { if (after !== null) choose(after); }}>Next finding</button>
    </nav>
  );
}
