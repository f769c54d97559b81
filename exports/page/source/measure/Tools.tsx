/** Word buttons in a corner of the work: fit, cut, measure; and the strips that two of them open on the card. */

import { beyond, farther, fit, nearer } from "../scene/looking.ts";
import { coming, cut, hidden, measuring, picked, showing } from "../state.ts";
import { CutStrip } from "./CutStrip.tsx";
import { MeasureStrip } from "./MeasureStrip.tsx";

export function Tools() {
  return (
    <div class="tools">
      <div class="words" role="group" aria-label="Looking at the work">
        <button type="button" onClick={fit}>Fit</button>
        <button type="button" class="wide-only" onClick={nearer}>Closer</button>
        <button type="button" class="wide-only" onClick={farther}>Farther</button>
        <button type="button" aria-pressed={cut.value !== null} onClick={toggleCut}>Cut</button>
        <button type="button" aria-pressed={measuring.value} onClick={toggleMeasure}>Measure</button>
        {showing.value === "step" ? (
          <button type="button" aria-pressed={coming.value === "ghost"} title="Show what is still to come, in outline"
            onClick={() => { coming.value = coming.value === "ghost" ? "absent" : "ghost"; }}>To come</button>
        ) : null}
        {hidden.value.size > 0 && showing.value !== "finding"
          ? <button type="button" onClick={() => { hidden.value = new Set(); }}>{`Show all (${hidden.value.size} hidden)`}</button> : null}
      </div>
    </div>
  );
}

/** What cutting and measuring want to know and have to say: on the card, so that nothing lies over the work. */
export function Strips() {
  return (
    <div class="strips">
      {cut.value === null ? null : <CutStrip cut={cut.value} />}
      {measuring.value ? <MeasureStrip /> : null}
    </div>
  );
}

function toggleCut(): void {
  cut.value = cut.value === null ? { axis: 0, at: 0.5, flipped: !beyond(0) } : null;
}

function toggleMeasure(): void {
  measuring.value = !measuring.value;
  picked.value = [];
}
