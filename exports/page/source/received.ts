/** The rehearsal as it comes to the page, and the same put back in the shape the page works with. Nothing is sent twice:
 * see `exports/walk/sent.py`. */

import type { Finding, Frame, Part, PartJoint, Stage, Step, Thing, Walk } from "./walk.ts";

/** Rows of one kind without the names of their columns; of a column in `values` a row has the number of its value. */
interface Table {
  columns: string[];
  rows: unknown[][];
  values: Record<string, unknown[]>;
}

/** Pieces by number, with the frames and shapes (by place in the list) that do not follow from the finished work. */
interface Placed {
  parts: number[];
  at: Record<string, Frame>;
  shapes: Record<string, number>;
}

type Given = Omit<Walk, "parts" | "stages" | "steps" | "findings">;

export interface Sent extends Given {
  sent: true;
  parts: Table;
  joints: Table;
  steps: Table;
  things: Table;
  stages: (Omit<Stage, "pieces" | "things"> & { pieces: Placed })[];
  findings: (Omit<Finding, "shown"> & { shown: Placed })[];
}

/** The rehearsal in the shape the page works with, whichever way it was sent. */
export function received(data: Walk | Sent): Walk {
  if (!("sent" in data)) return data;
  const parts = rows<Part>(data.parts).map((part) => ({ ...part, joints: [] as PartJoint[] }));
  for (const { part, ...joint } of rows<PartJoint & { part: number }>(data.joints)) parts[part]?.joints.push(joint);
  const before = new Set<number>();
  const stages = data.stages.map((stage): Stage => {
    const pieces = standing(stage.pieces, stage.frame, parts).map((one) => ({ ...one, before: before.has(one.part) }));
    for (const one of stage.pieces.parts) before.add(one);
    return { ...stage, pieces, things: [] };
  });
  for (const { stage, ...thing } of rows<Thing & { stage: number }>(data.things)) stages[stage]?.things.push(thing);
  const findings = data.findings.map((found): Finding => {
    const lies = found.stage === null ? undefined : stages[found.stage]?.frame;
    return { ...found, shown: standing(found.shown, lies, parts) };
  });
  const whole: Walk & Partial<Pick<Sent, "sent" | "joints" | "things">> =
    { ...data, parts, stages, steps: rows<Step>(data.steps), findings };
  delete whole.sent;
  delete whole.joints;
  delete whole.things;
  return whole;
}

function rows<Row>(table: Table): Row[] {
  const shared = table.columns.map((column) => table.values[column]);
  return table.rows.map((row) => Object.fromEntries(table.columns.map((column, place) => {
    const values = shared[place];
    return [column, values ? values[row[place] as number] : row[place]];
  })) as Row);
}

function standing(pieces: Placed, lies: Frame | undefined, parts: readonly Part[]): Finding["shown"] {
  return pieces.parts.map((part, place) => {
    const { home, shape } = parts[part]!;
    const at = pieces.at[place] ?? (home && lies ? carried(lies, home) : home);
    if (!at) throw new Error(`it is not said where piece ${part} stands`);
    return { part, at, shape: pieces.shapes[place] ?? shape };
  });
}

/** A frame carried by another. */
export function carried(by: Frame, at: Frame): Frame {
  const made = [] as number[];
  for (let row = 0; row < 12; row += 4) {
    for (let column = 0; column < 4; column++) {
      const along = by[row]! * at[column]! + by[row + 1]! * at[column + 4]! + by[row + 2]! * at[column + 8]!;
      made.push(column < 3 ? along : along + by[row + 3]!);
    }
  }
  return made as Frame;
}
