/** What is wrong in the file while it is being changed, and what is being done; on served pages only. */

import { problems, rebuilding, walk } from "../state.ts";
import type { FileProblem } from "../walk.ts";
import { gone } from "./connection.ts";
import "./live.css";

const MOST = 12;

export function Problems() {
  if (walk.value.live === null) return null;
  return (
    <div class="live">
      <div class="doing" role="status">{gone.value || wrong() ? <ToProblems /> : doing()}</div>
      <div aria-live="polite">{gone.value ? <Gone /> : problems.value.length > 0 ? <Wrong /> : null}</div>
    </div>
  );
}

function wrong(): boolean {
  return problems.value.length > 0 && rebuilding.value === "";
}

/** One line that is always there, so that nothing jumps when it changes. */
function doing(): string {
  const { file, planned } = walk.value;
  if (rebuilding.value !== "") return `Working: ${rebuilding.value} …`;
  return planned ? `Follows ${file}` : `Reading ${file} …`;
}

/** The same line where something is wrong: it stays in sight and leads to what is. */
function ToProblems() {
  const count = problems.value.length;
  const says = gone.value ? "Not connected" : count === 1 ? "1 thing to mend in the file" : `${count} things to mend in the file`;
  return (
    <button type="button" onClick={() => { document.getElementById("wrong")?.scrollIntoView({ block: "center" }); }}>
      {says}
    </button>
  );
}

function Gone() {
  return (
    <section class="wrong" id="wrong" aria-label="Not connected">
      <h2>dryfit walk has ended</h2>
      <p>This is the last that it showed. Start it again and open the new address to go on.</p>
    </section>
  );
}

function Wrong() {
  const all = problems.value;
  const there = walk.value.parts.length > 0;
  return (
    <section class="wrong" id="wrong" aria-label="Wrong in the file">
      <h2>Wrong in {walk.value.file}</h2>
      <p>{there ? "What stands here is the last that could be read." : "The work stands here as soon as the file can be read."}</p>
      <ol class="problems">{all.slice(0, MOST).map((one, index) => <Problem key={index} problem={one} />)}</ol>
      {all.length > MOST ? <p>and {all.length - MOST} more</p> : null}
    </section>
  );
}

function Problem({ problem }: { problem: FileProblem }) {
  const where = [problem.line === null ? "" : `Line ${problem.line}`, problem.key].filter((word) => word !== "");
  return (
    <li>
      {where.length > 0 ? <strong>{where.join(", ")}</strong> : null}
      <span>{problem.said}</span>
    </li>
  );
}
