/** Arrows, lines and signs, drawn over the picture where their points are seen: crisp, upright, of one size. */

import type { Arrow, Line, Moment, Sign } from "../moment.ts";
import type { Finding, Point } from "../walk.ts";
import type { Colour, Paper } from "./looks.ts";
import { arrowColour, lookOfLine } from "./looks.ts";
import { edgeTowards, placedSigns } from "./placing.ts";
import type { Field, Wanted } from "./placing.ts";
import type { Lens, Pose } from "./pose.ts";
import { seenAt } from "./pose.ts";

const SVG = "http://www.w3.org/2000/svg";
const HEAD = 15;
const SHORTEST = 26;
/** An open hand from the back, drawn for this page: 24 by 24. */
const HAND = "M7 21c-2-3-4-6-4-8 0-1 1.4-1.4 2.1-.4L7 15V5.6C7 4.1 9 4.1 9 5.6V11h.6V3.8c0-1.5 2.1-1.5 2.1 0V11h.6V4.6c0-1.5 2.1-1.5 2.1 0V11h.6V6.8c0-1.4 2-1.4 2 0V15c0 3-1.2 4.600-2 6z";

const css = (c: Colour): string => `rgb(${c[0]} ${c[1]} ${c[2]})`;

function made(name: string, attributes: Record<string, string | number>): SVGElement {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  return element;
}

type Spot = [number, number];
/** A point in the picture, with how far ahead of the eye it lies. */
type Deep = [number, number, number];

export class Overlay {
  private readonly root: SVGSVGElement;
  private readonly signs: HTMLElement;
  private readonly findingOf: (says: string) => Finding | undefined;
  private readonly chosen: (says: string) => void;

  constructor(root: SVGSVGElement, signs: HTMLElement, findingOf: (says: string) => Finding | undefined, chosen: (says: string) => void) {
    this.root = root;
    this.signs = signs;
    this.findingOf = findingOf;
    this.chosen = chosen;
  }

  /** Draw what lies over a moment; `busy` are fields of the picture that signs had better leave free. */
  show(moment: Moment, pose: Pose, lens: Lens, on: Paper, busy: readonly Field[]): void {
    const seen = (point: Point): Deep | null => {
      const at = seenAt(pose, lens, point);
      return at[2] > 1 ? at : null;
    };
    const drawn: SVGElement[] = [];
    for (const line of moment.lines) {
      const points = line.points.map(seen);
      if (points.every((p) => p !== null)) drawn.push(lineOf(points, line.look, on));
    }
    const fields: Field[] = [];
    for (const arrow of moment.arrows) {
      const [from, to] = [seen(arrow.from), seen(arrow.to)];
      if (!from || !to) continue;
      drawn.push(...arrowOf(from, to, arrow.look, on));
      for (const k of [0.1, 0.5, 0.9]) {
        const [x, y] = [from[0] + (to[0] - from[0]) * k, from[1] + (to[1] - from[1]) * k];
        fields.push([x - 9, y - 9, x + 9, y + 9]);
      }
    }
    drawn.push(...this.place(moment.signs, seen, lens, on, fields, busy));
    this.root.replaceChildren(...drawn);
  }

  /** Put the signs in their places; returns the lines that lead to their points. */
  private place(signs: readonly Sign[], seen: (p: Point) => Deep | null, lens: Lens, on: Paper, arrows: Field[],
    busy: readonly Field[]): SVGElement[] {
    const shown: { element: HTMLElement; at: Deep; sign: Sign }[] = [];
    const free = new Map<string, HTMLElement[]>();
    for (const old of [...this.signs.children] as HTMLElement[]) {
      const key = old.dataset["key"]!;
      free.set(key, [...(free.get(key) ?? []), old]);
    }
    for (const sign of signs) {
      const at = seen(sign.at);
      if (!at || at[0] < -40 || at[1] < -40 || at[0] > lens.width + 40 || at[1] > lens.height + 40) continue;
      shown.push({ element: free.get(keyOf(sign))?.shift() ?? this.made(sign), at, sign });
    }
    const all = shown.map((one) => one.element);
    if (all.length !== this.signs.children.length || all.some((element, k) => this.signs.children[k] !== element)) {
      this.signs.replaceChildren(...all);
    }
    const wanted = shown.map(({ element, at, sign }): Wanted => (
      { x: at[0], y: at[1], width: element.offsetWidth, height: element.offsetHeight, fixed: sign.look === "hand" || sign.look === "finding" }));
    const lines: SVGElement[] = [];
    placedSigns(wanted, lens.width, lens.height, arrows, busy).forEach(({ left, top, led }, k) => {
      const { element, at } = shown[k]!;
      element.style.transform = `translate(${Math.round(left)}px, ${Math.round(top)}px)`;
      const { width, height } = wanted[k]!;
      if (led) lines.push(...leader(edgeTowards([left, top, left + width, top + height], at[0], at[1]), [at[0], at[1]], on));
    });
    return lines;
  }

  private made(sign: Sign): HTMLElement {
    const button = sign.look === "finding";
    const element = document.createElement(button ? "button" : "span");
    element.className = `sign ${sign.look}`;
    element.dataset["key"] = keyOf(sign);
    if (button) {
      const found = this.findingOf(sign.says);
      if (found) element.dataset["severity"] = found.severity;
      (element as HTMLButtonElement).type = "button";
      element.addEventListener("click", () => { this.chosen(sign.says); });
    }
    if (sign.look === "hand") {
      const hand = made("svg", { viewBox: "0 0 24 24", width: 26, height: 26, "aria-hidden": "true" });
      hand.append(made("path", { d: HAND }));
      element.append(hand);
    } else {
      element.append(sign.says);
    }
    return element;
  }
}

const keyOf = (sign: Sign): string => `${sign.look} ${sign.says}`;

/** A thin line from a sign to its point, with a dot there. */
function leader(from: Spot, to: Spot, on: Paper): SVGElement[] {
  const line = { x1: from[0], y1: from[1], x2: to[0], y2: to[1], "stroke-linecap": "round" };
  return [
    made("line", { ...line, stroke: css(on.paper), "stroke-width": 4, "stroke-opacity": 0.7 }),
    made("line", { ...line, stroke: css(on.ink), "stroke-width": 1.5 }),
    made("circle", { cx: to[0], cy: to[1], r: 3.5, fill: css(on.ink), stroke: css(on.paper), "stroke-width": 1.5 }),
  ];
}

function lineOf(points: readonly Deep[], kind: Line["look"], on: Paper): SVGElement {
  const look = lookOfLine(kind, on);
  return made("polyline", {
    points: points.map((p) => `${p[0].toFixed(1)},${p[1].toFixed(1)}`).join(" "), fill: "none",
    stroke: css(look.edge), "stroke-width": look.width, "stroke-opacity": look.inked,
    "stroke-dasharray": look.dash > 0 ? `${look.dash} ${look.dash * 0.7}` : "none",
    "stroke-linecap": "round", "stroke-linejoin": "round",
  });
}

/** An arrow with a head of one size; one that would be too short to see starts further back, and one that points at the
 * eye or away from it is a ring with a dot (its tip) or a cross (its tail). */
function arrowOf(from: Deep, to: Deep, look: Arrow["look"], on: Paper): SVGElement[] {
  const far = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const [colour, rim] = [css(arrowColour(look, on)), css(on.paper)];
  if (far < HEAD * 0.6) return endOn([to[0], to[1]], to[2] < from[2], colour, rim);
  const [ux, uy] = [(to[0] - from[0]) / far, (to[1] - from[1]) / far];
  const start: Spot = far < SHORTEST ? [to[0] - ux * SHORTEST, to[1] - uy * SHORTEST] : [from[0], from[1]];
  const foot: Spot = [to[0] - ux * HEAD, to[1] - uy * HEAD];
  const half = HEAD * 0.48;
  const head = `${to[0]},${to[1]} ${foot[0] - uy * half},${foot[1] + ux * half} ${foot[0] + uy * half},${foot[1] - ux * half}`;
  const line = { x1: start[0], y1: start[1], x2: foot[0], y2: foot[1], "stroke-linecap": "round" };
  return [
    made("line", { ...line, stroke: rim, "stroke-width": 8, "stroke-opacity": 0.85 }),
    made("polygon", { points: head, fill: rim, stroke: rim, "stroke-width": 5, "stroke-linejoin": "round", opacity: 0.85 }),
    made("line", { ...line, stroke: colour, "stroke-width": 4 }),
    made("polygon", { points: head, fill: colour, stroke: colour, "stroke-width": 1, "stroke-linejoin": "round" }),
  ];
}

function endOn([x, y]: Spot, towards: boolean, colour: string, rim: string): SVGElement[] {
  const ring = made("circle", { cx: x, cy: y, r: 10, fill: rim, stroke: colour, "stroke-width": 3.5 });
  if (towards) return [ring, made("circle", { cx: x, cy: y, r: 3.5, fill: colour })];
  return [ring, made("path", { d: `M${x - 5} ${y - 5}l10 10m0-10l-10 10`, stroke: colour, "stroke-width": 3, fill: "none" })];
}
