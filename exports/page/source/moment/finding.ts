/** One finding: the parts it is about drawn apart, how much, and for a part turned round both ways of it. */

import { shifted } from "../measure/frames.ts";
import { add, length, middle, minus, times, unit } from "../measure/vectors.ts";
import type { Moment, Placed } from "../moment.ts";
import { read } from "../units.ts";
import type { Finding, Point, Walk } from "../walk.ts";
import { pencilled, short } from "./marks.ts";
import { standing, swings, type Swung } from "./turning.ts";

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

/** Trails at the spot, at most: of more, nobody could tell which is which. */
const TRAILS = 3;

/** The finding's number at its spot, how far the parts it is about were drawn from there, and how much is amiss. */
function spot(finding: Finding, opened: number, share: number, moment: Moment): void {
  const at = finding.at ?? middle(...finding.box);
  const own = standing(finding.turned).map((one) => one.part).concat(finding.parts)
    .filter((part) => finding.shown.some((shown) => shown.part === part));
  const spots: Point[] = [];
  for (const part of own) {
    const there = add(at, drawn(finding, part, opened));
    if (spots.every((known) => length(minus(known, there)) > 1)) spots.push(there);
  }
  const [here = at, ...others] = spots.sort((a, b) => length(minus(a, at)) - length(minus(b, at)));
  for (const there of others.slice(0, TRAILS)) moment.lines.push({ points: [here, there], look: "trail" });
  moment.signs.push({ at: here, look: "finding", says: String(finding.number) });
  if (finding.at !== null && finding.amount !== "" && share < 0.5) amount(finding, here, others[0], moment);
}

/** How much is amiss: a line true to size along the way in which the parts are drawn apart, and the words. */
function amount(finding: Finding, here: Point, there: Point | undefined, moment: Moment): void {
  const mm = read(finding.amount);
  const way = unit(there ? minus(there, here) : [0, 0, 1]);
  const end = add(here, times(way, mm ?? 0));
  const apart = finding.apart.length > 0 && mm !== null && mm !== 0;
  if (apart) moment.lines.push({ points: [here, end], look: "measure" });
  moment.signs.push({ at: apart ? middle(here, end) : here, look: "label", says: short(finding.amount, 40) });
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
