/** What is being measured, in words. */

import { useSignalEffect } from "@preact/signals";
import { useRef } from "preact/hooks";
import { apart, finding, opened, picked, share, showing, step, walk, way } from "../state.ts";
import { pickSaid, said } from "./words.ts";

export function MeasureStrip() {
  useFresh();
  const [first, second] = picked.value;
  const name = (part: number): string => walk.value.parts[part]?.name ?? "the work";
  const found = first && second ? said(first, second, walk.value.unit) : null;
  return (
    <div class="strip measure">
      <div role="status">{found === null ? <p class="name">{first === undefined
        ? "Touch a point, an edge or a face of the work."
        : `Picked: ${pickSaid(first, name(first.part))}. Now touch the second.`}</p> : (
        <>
          <p class="soft">{found.what}</p>
          <p class="figure">{found.figure}</p>
          {found.more.map((line) => <p key={line}>{line}</p>)}
        </>
      )}</div>
      {first === undefined ? null : <button type="button" aria-label="Measure anew" onClick={() => { picked.value = []; }}>Anew</button>}
    </div>
  );
}

/** What was picked stands where it was touched: it is let go when the work moves. */
function useFresh(): void {
  const seen = useRef("");
  useSignalEffect(() => {
    const shown = [showing.value, step.value, share.value, finding.value, opened.value, way.value, apart.value].join();
    const all = walk.value;
    if (seen.current !== "" && (seen.current !== shown || last.all !== all)) picked.value = [];
    seen.current = shown;
    last.all = all;
  });
}

const last: { all: unknown } = { all: null };
