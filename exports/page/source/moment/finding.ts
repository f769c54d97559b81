/** One finding: the parts it is about drawn apart, how much, and for a part turned round both ways of it. */

import { shifted } from "../measure/frames.ts";
import { add, length, middle, minus, times, unit } from "../measure/vectors.ts";
import type { Moment, Placed } from "../moment.ts";
import { read } from "../units.ts";
import type { Finding, Point, Walk } from "../walk.ts";
import { pencilled } from "./marks.ts";
import { swings, type Swung } from "./turning.ts";

/** Which way round a part is shown: wrong (0), right (1), or on its swing between. */
export type Way = "wrong" | "right" | number;

/** Return what is drawn of a finding; `opened` is how far its parts are drawn apart, 0 to 1. */
export function ofFinding(walk: Walk, index: number, opened: number, way: Way): Moment {
  const finding = walk.findings[index];
  if (finding === undefined) return empty(walk);
  const share = way === "wrong" ? 0 : way === "right" ? 1 : way;
  const stage = finding.stage === null ? undefined : walk.stages[finding.stage];
  const swung = new Map(swings(walk, finding.turned, share).map((one) => [one.part, one]));
  const moment: Moment = {
    ...empty(walk),
    pieces: finding.shown.map((shown) => placed(finding, shown, swung, opened, share)),
    ground: stage ? { on: stage.on, top: stage.bench } : { on: "floor", top: null },
    box: finding.box,
    look: `finding ${finding.number}`,
  };
  spot(finding, opened, share, moment);
  prevented(walk, finding, moment);
  return moment;
}

function empty(walk: Walk): Moment {
  return { pieces: [], aids: [], arrows: [], signs: [], lines: [], ground: null, box: walk.box, look: "finding" };
}

function placed(finding: Finding, shown: Finding["shown"][number], swung: ReadonlyMap<number, Swung>, opened: number, share: number): Placed {
  const by = drawn(finding, shown.part, opened);
  const turned = swung.get(shown.part);
  if (turned !== undefined) return { ...turned, at: shifted(turned.at, by), role: share < 0.5 ? "wrong" : "right", seen: 1 };
  const about = swung.size === 0 && finding.parts.includes(shown.part);
  const role = !about ? "around" : finding.severity === "note" ? "moving" : "wrong";
  return { ...shown, at: shifted(shown.at, by), role, seen: 1 };
}

/** How far a part is drawn apart, mm. */
function drawn(finding: Finding, part: number, opened: number): Point {
  const found = finding.apart.find((a) => a.part === part);
  return found ? times(found.by, opened) : [0, 0, 0];
}

/** The finding's number at its spot, how far the parts were drawn apart there, and how much is amiss, true to size. */
function spot(finding: Finding, opened: number, share: number, moment: Moment): void {
  const at = finding.at ?? middle(...finding.box);
  const rest = finding.parts.find((part) => !finding.apart.some((a) => a.part === part));
  const here = rest === undefined && finding.apart[0] ? add(at, times(finding.apart[0].by, opened)) : at;
  moment.signs.push({ at: here, look: "finding", says: String(finding.number) });
  for (const { by } of finding.apart) {
    const there = add(at, times(by, opened));
    if (length(minus(there, here)) > 1) moment.lines.push({ points: [here, there], look: "trail" });
  }
  if (finding.at === null || finding.amount === "" || share >= 0.5) return;
  const way = unit(finding.apart.find(({ by }) => length(by) > 0)?.by ?? [0, 0, 1]);
  const mm = read(finding.amount);
  const end = add(here, times(way, mm ?? 0));
  if (mm !== null && mm !== 0) moment.lines.push({ points: [here, end], look: "measure" });
  moment.signs.push({ at: end, look: "label", says: finding.amount });
}

/** The pencil mark that rules the wrong way out, on the part as it is shown. */
function prevented(walk: Walk, finding: Finding, moment: Moment): void {
  const mark = finding.pencil === null ? undefined : walk.parts[finding.pencil.part]?.pencil[finding.pencil.mark];
  const piece = moment.pieces.find((p) => p.part === finding.pencil?.part);
  if (mark === undefined || piece === undefined) return;
  const on = pencilled(mark, piece.at, walk.shapes[piece.shape]!.box, true);
  moment.arrows.push(...on.arrows);
  moment.lines.push(...on.lines);
  moment.signs.push(...on.signs);
}
