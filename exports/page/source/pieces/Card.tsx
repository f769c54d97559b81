/** The card of one piece. */

import type { ComponentChildren } from "preact";
import { useEffect } from "preact/hooks";
import { useOpened } from "../shell/opened.ts";
import { goTo, stepOfPart } from "../moment/going.ts";
import { alone, hidden, piece, walk } from "../state.ts";
import type { Part, PartJoint } from "../walk.ts";
import { lit } from "./lit.ts";
import { sameAs } from "./search.ts";
import { Spread } from "./Spread.tsx";

export function Card({ index }: { index: number }) {
  const part = walk.value.parts[index]!;
  const heading = useOpened();
  useEffect(() => () => { lit.value = new Set(); }, []);
  return (
    <article class="piece-card" aria-labelledby="piece-name" onKeyDown={(event) => { if (event.key === "Escape") close(index); }}>
      <button type="button" class="back" onClick={() => { close(index); }}>All pieces</button>
      <header>
        {part.mark === "" ? null : <span class="mark large"><span class="hush">Mark </span>{part.mark}</span>}
        <div>
          <h2 id="piece-name" class="name" tabIndex={-1} ref={heading}>{part.name}</h2>
          {part.kind === "" || part.kind === part.name ? null : <p class="soft name">{part.kind.replaceAll("_", " ")}{part.temporary ? ", taken away again" : ""}</p>}
        </div>
      </header>
      <Sight index={index} />
      <Spread />
      <Facts part={part} index={index} />
      <Pencils part={part} />
      <Joints part={part} />
    </article>
  );
}

function close(index: number): void {
  piece.value = null;
  alone.value = false;
  requestAnimationFrame(() => {
    const item = document.getElementById(`piece-${index}`) ?? document.querySelector<HTMLElement>(".pieces .find input");
    item?.focus();
  });
}

/** Hide it, or show it alone. */
function Sight({ index }: { index: number }) {
  const away = hidden.value.has(index);
  const gone = walk.value.parts[index]!.home === null;
  if (gone) return <p class="soft">It is no longer there when the work is finished.</p>;
  return (
    <div class="buttons">
      <button type="button" aria-pressed={alone.value} onClick={() => { alone.value = !alone.value; }}>Alone</button>
      <button type="button" aria-pressed={away} onClick={() => { hide(index, !away); }}>{away ? "Hidden" : "Hide"}</button>
    </div>
  );
}

/** Take a piece out of sight, or bring it back. */
export function hide(index: number, away: boolean): void {
  const next = new Set(hidden.value);
  if (away) next.add(index);
  else next.delete(index);
  hidden.value = next;
  if (away) alone.value = false;
}

function Facts({ part, index }: { part: Part; index: number }) {
  const step = stepOfPart(walk.value, index);
  const stage = part.stage === null ? undefined : walk.value.stages[part.stage];
  return (
    <dl class="facts">
      <Fact name="Size">{part.size}</Fact>
      <Fact name="Stock">{part.stock}</Fact>
      <Fact name="Mass">{part.mass}</Fact>
      <Fact name="Grain">along the arrow in the picture</Fact>
      {step === null ? null : (
        <Fact name="Comes in">
          <button type="button" class="go" onClick={() => { goTo(step); }}>{stage?.title ?? walk.value.steps[step]!.title}</button>
        </Fact>
      )}
      {sameAs(walk.value, index).length > 0 ? <Fact name="Same as"><Same same={sameAs(walk.value, index)} /></Fact> : null}
      {part.mirror === "" ? null : <Fact name="Mirror image"><span class="mark">{part.mirror}</span> looks like it and does not fit here.</Fact>}
    </dl>
  );
}

function Fact({ name, children }: { name: string; children: ComponentChildren }) {
  return <div><dt>{name}</dt><dd>{children}</dd></div>;
}

const LISTED = 8;

function Same({ same }: { same: readonly number[] }) {
  const on = lit.value.size > 0;
  return (
    <>
      <button type="button" aria-pressed={on} onClick={() => { lit.value = new Set(on ? [] : same); }}>
        {same.length === 1 ? "Light it up" : `Light up all ${same.length}`}
      </button>
      <span class="soft name"> {same.slice(0, LISTED).map((i) => walk.value.parts[i]?.name ?? "").join(", ")}
        {same.length > LISTED ? ` and ${same.length - LISTED} more` : ""}</span>
    </>
  );
}

function Pencils({ part }: { part: Part }) {
  if (part.pencil.length === 0) return null;
  return (
    <section>
      <h3>Pencil on it</h3>
      <ul class="sentences">{part.pencil.map((mark, i) => <li key={i}>{mark.says}</li>)}</ul>
    </section>
  );
}

function Joints({ part }: { part: Part }) {
  if (part.joints.length === 0) return null;
  return (
    <section>
      <h3>{part.joints.length === 1 ? "Its joint" : `Its ${part.joints.length} joints`}</h3>
      <ul class="plain joints">{part.joints.map((joint) => <Joint key={`${joint.name} ${joint.other}`} joint={joint} />)}</ul>
    </section>
  );
}

function Joint({ joint }: { joint: PartJoint }) {
  const other = walk.value.parts[joint.other];
  const stage = joint.stage === null ? undefined : walk.value.stages[joint.stage];
  return (
    <li>
      <button type="button" onClick={() => { piece.value = joint.other; }}>
        <b class="name">{other?.name ?? joint.name}</b>
        <span>{joint.kind}: {joint.says}</span>
        {stage === undefined ? null : <span class="soft">closes in {stage.title}</span>}
      </button>
    </li>
  );
}
