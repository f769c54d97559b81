/** Arrows, lines and signs, drawn over the picture where their points are seen: crisp, upright, of one size. */

import type { Arrow, Moment, Sign } from "../moment.ts";
import type { Point } from "../walk.ts";
import type { Colour, Paper } from "./looks.ts";
import { arrowColour, lookOfLine } from "./looks.ts";
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

export class Overlay {
  private readonly root: SVGSVGElement;
  private readonly signs: HTMLElement;
  private readonly chosen: (sign: Sign) => void;

  constructor(root: SVGSVGElement, signs: HTMLElement, chosen: (sign: Sign) => void) {
    this.root = root;
    this.signs = signs;
    this.chosen = chosen;
  }

  show(moment: Moment, pose: Pose, lens: Lens, on: Paper): void {
    const seen = (point: Point): Spot | null => {
      const [x, y, deep] = seenAt(pose, lens, point);
      return deep > 1 ? [x, y] : null;
    };
    const drawn: SVGElement[] = [];
    for (const line of moment.lines) {
      const points = line.points.map(seen);
      if (points.some((p) => p === null)) continue;
      const look = lookOfLine(line.look, on);
      drawn.push(made("polyline", {
        points: (points as Spot[]).map((p) => `${p[0].toFixed(1)},${p[1].toFixed(1)}`).join(" "), fill: "none",
        stroke: css(line.look === "pencil" && on.dark ? on.ink : look.edge), "stroke-width": look.width,
        "stroke-dasharray": look.dash > 0 ? `${look.dash} ${look.dash * 0.7}` : "none", "stroke-opacity": look.inked,
        "stroke-linecap": "round", "stroke-linejoin": "round",
      }));
    }
    for (const arrow of moment.arrows) {
      const [from, to] = [seen(arrow.from), seen(arrow.to)];
      if (from && to) drawn.push(...arrowOf(from, to, arrow.look, on));
    }
    this.root.replaceChildren(...drawn);
    this.place(moment.signs, seen, lens);
  }

  /** Signs stand above their points, nearest the top first; where two would collide the later one moves up. */
  private place(signs: readonly Sign[], seen: (p: Point) => Spot | null, lens: Lens): void {
    const elements: HTMLElement[] = [];
    const spots: Spot[] = [];
    signs.forEach((sign) => {
      const at = seen(sign.at);
      if (!at || at[0] < -40 || at[1] < -40 || at[0] > lens.width + 40 || at[1] > lens.height + 40) return;
      const old = this.signs.children[elements.length] as HTMLElement | undefined;
      elements.push(this.element(sign, old));
      spots.push(at);
    });
    this.signs.replaceChildren(...elements);
    const boxes: [number, number, number, number][] = [];
    elements.forEach((element, k) => {
      const [w, h] = [element.offsetWidth, element.offsetHeight];
      const [x, y] = spots[k]!;
      const left = Math.min(Math.max(4, x - w / 2), Math.max(4, lens.width - w - 4));
      let top = Math.min(Math.max(4, y - h - 8), Math.max(4, lens.height - h - 4));
      for (let tries = 0; tries < 8; tries++) {
        const met = boxes.find((b) => left < b[2] && b[0] < left + w && top < b[3] && b[1] < top + h);
        if (!met) break;
        top = met[1] - h - 3 > 4 ? met[1] - h - 3 : met[3] + 3;
      }
      boxes.push([left, top, left + w, top + h]);
      element.style.transform = `translate(${left.toFixed(1)}px, ${top.toFixed(1)}px)`;
    });
  }

  private element(sign: Sign, old: HTMLElement | undefined): HTMLElement {
    const key = `${sign.look} ${sign.says}`;
    if (old && old.dataset["key"] === key) return old;
    const button = sign.look === "finding";
    const element = document.createElement(button ? "button" : "span");
    element.className = `sign ${sign.look}`;
    element.dataset["key"] = key;
    if (button) {
      (element as HTMLButtonElement).type = "button";
      element.addEventListener("click", () => { this.chosen(sign); });
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

/** An arrow with a head of one size; one that would be too short to see starts further back. */
function arrowOf(from: Spot, to: Spot, look: Arrow["look"], on: Paper): SVGElement[] {
  const far = Math.hypot(to[0] - from[0], to[1] - from[1]);
  if (far < 2) return [];
  const [ux, uy] = [(to[0] - from[0]) / far, (to[1] - from[1]) / far];
  const start: Spot = far < SHORTEST ? [to[0] - ux * SHORTEST, to[1] - uy * SHORTEST] : from;
  const foot: Spot = [to[0] - ux * HEAD, to[1] - uy * HEAD];
  const half = HEAD * 0.48;
  const head = `${to[0]},${to[1]} ${foot[0] - uy * half},${foot[1] + ux * half} ${foot[0] + uy * half},${foot[1] - ux * half}`;
  const line = { x1: start[0], y1: start[1], x2: foot[0], y2: foot[1], "stroke-linecap": "round" };
  const [colour, rim] = [css(arrowColour(look, on)), css(on.paper)];
  return [
    made("line", { ...line, stroke: rim, "stroke-width": 8, "stroke-opacity": 0.85 }),
    made("polygon", { points: head, fill: rim, stroke: rim, "stroke-width": 5, "stroke-linejoin": "round", opacity: 0.85 }),
    made("line", { ...line, stroke: colour, "stroke-width": 4 }),
    made("polygon", { points: head, fill: colour, stroke: colour, "stroke-width": 1, "stroke-linejoin": "round" }),
  ];
}
