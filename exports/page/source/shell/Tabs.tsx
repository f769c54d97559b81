/** The four tabs, in words, and the panel of the one that is chosen. */

import type { ComponentChildren } from "preact";
import { useLayoutEffect, useRef } from "preact/hooks";
import { step, tab, walk } from "../state.ts";
import type { Tab } from "../state.ts";

interface Named { is: Tab; says: string; count: string }

function tabs(): Named[] {
  const { verdict, findings, live } = walk.value;
  const stops = verdict.stop > 0 ? `, ${verdict.stop} stop` : "";
  const all: Named[] = [
    { is: "order", says: "Order", count: "" },
    { is: "findings", says: "Findings", count: `${findings.length}${stops}` },
    { is: "pieces", says: "Pieces", count: "" },
  ];
  return live === null ? all : [...all, { is: "numbers", says: "Numbers", count: "" }];
}

export function Tabs() {
  const all = tabs();
  return (
    <div class="tabs" role="tablist" aria-label="The card" onKeyDown={(event) => { onKey(event, all); }}>
      {all.map(({ is, says, count }) => (
        <button type="button" key={is} role="tab" id={`tab-${is}`} aria-selected={tab.value === is} aria-controls="panel"
          tabIndex={tab.value === is ? 0 : -1} onClick={() => { tab.value = is; }}>
          {says}{count !== "" && <span class="count"> {count}</span>}
        </button>
      ))}
    </div>
  );
}

function onKey(event: KeyboardEvent, all: Named[]): void {
  const here = all.findIndex((one) => one.is === tab.value);
  const to = { ArrowRight: here + 1, ArrowLeft: here - 1, Home: 0, End: all.length - 1 }[event.key];
  const chosen = to === undefined ? undefined : all[(to + all.length) % all.length];
  if (!chosen) return;
  event.preventDefault();
  tab.value = chosen.is;
  document.getElementById(`tab-${chosen.is}`)?.focus();
}

/** The panel begins at its top again when another tab or step is shown. */
export function Panel({ children }: { children: ComponentChildren }) {
  const box = useRef<HTMLDivElement>(null);
  useLayoutEffect(() => { if (box.current) box.current.scrollTop = 0; }, [tab.value, tab.value === "order" ? step.value : 0]);
  return <div ref={box} class="panel" role="tabpanel" id="panel" aria-labelledby={`tab-${tab.value}`} tabIndex={0}>{children}</div>;
}
