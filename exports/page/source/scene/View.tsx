/** The work in three dimensions: mounts the picture and follows what is chosen. */

import "./scene.css";
import { effect } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import type { Moment } from "../moment.ts";
import { now } from "../moment/now.ts";
import { undrawn } from "../shell/drawing.ts";
import { cut, finding, measuring, picked, piece, showing, step, tab, theme, walk } from "../state.ts";
import type { Finding } from "../walk.ts";
import { follow } from "./controls.ts";
import type { Handles } from "./controls.ts";
import { looksAt } from "./looking.ts";
import { DARK, LIGHT } from "./looks.ts";
import type { Paper } from "./looks.ts";
import { Overlay } from "./overlay.ts";
import { Picture } from "./picture.ts";
import type { Margins } from "./pose.ts";

const NONE = "This browser cannot draw the work in three dimensions. The pictures and the words below say the same.";
const LOST = "The drawing was lost, as happens when a device runs out of memory. The pictures and the words below say the same. " +
  "Load the page again to draw the work anew.";
/** How long a lost drawing may take to come back before the words stand in for it, ms. */
const PATIENCE = 2500;

export function View() {
  const frame = useRef<HTMLDivElement>(null);
  const canvas = useRef<HTMLCanvasElement>(null);
  const lines = useRef<SVGSVGElement>(null);
  const signs = useRef<HTMLDivElement>(null);
  useEffect(() => mount(frame.current!, canvas.current!, lines.current!, signs.current!), []);
  return (
    <div class="work" ref={frame}>
      <canvas ref={canvas} tabIndex={0} role="application" aria-label={said(now.value)}
        aria-roledescription="drawing in three dimensions" />
      <svg ref={lines} class="over" aria-hidden="true" />
      <div ref={signs} class="signs" />
    </div>
  );
}

/** What is seen, in words, and the keys that turn it. */
function said(moment: Moment): string {
  const all = walk.value;
  const scene = {
    step: all.steps[step.value]?.title ?? "", pieces: "the finished work in its pieces",
    finding: all.findings[finding.value ?? -1]?.title ?? "",
  }[showing.value];
  const ghosts = moment.pieces.filter((one) => one.role === "ghost").length;
  const pieces = moment.pieces.length - ghosts;
  const count = `${pieces} ${pieces === 1 ? "piece" : "pieces"}${ghosts > 0 ? `, and ${ghosts} to come as a ghost` : ""}`;
  return `${all.title}. ${scene}. ${count}. Arrow keys turn the work, plus and minus come closer and go back, F fits it.`;
}

function paper(): Paper {
  const dark = theme.value === "dark" || (theme.value === "as the device" && matchMedia("(prefers-color-scheme: dark)").matches);
  return dark ? DARK : LIGHT;
}

function mount(frame: HTMLElement, canvas: HTMLCanvasElement, lines: SVGSVGElement, signs: HTMLElement): () => void {
  const overlay = new Overlay(lines, signs, findingOf, choose);
  let picture: Picture;
  try {
    picture = new Picture(canvas, overlay, paper(), () => marginsOf(frame));
  } catch {
    undrawn.value = NONE;
    return () => undefined;
  }
  looksAt(picture);
  picture.drawn = () => {
    document.documentElement.dataset["ready"] = "yes";
    performance.mark("ready");
  };
  const sizes = new ResizeObserver(() => { picture.resized(); });
  sizes.observe(frame);
  const repaint = (): void => { picture.repaint(paper()); };
  const stops = [
    follows("(prefers-reduced-motion: reduce)", (calm) => { picture.stand.calm = calm; }),
    follows("(prefers-color-scheme: dark)", repaint),
    effect(() => { picture.load(walk.value); }),
    effect(() => { picture.show(now.value, piece.value, cut.value); }),
    effect(repaint),
    follow(canvas, handles(picture)),
    loss(canvas, picture),
  ];
  return () => {
    for (const stop of stops) stop();
    sizes.disconnect();
    looksAt(null);
    picture.close();
  };
}

/** Tell now and whenever it changes whether the device asks for something. */
function follows(query: string, tell: (on: boolean) => void): () => void {
  const asked = matchMedia(query);
  const changed = (): void => { tell(asked.matches); };
  asked.addEventListener("change", changed);
  changed();
  return () => { asked.removeEventListener("change", changed); };
}

/** A drawing that is lost is waited for; where it does not come back soon the words take its place until it does. */
function loss(canvas: HTMLCanvasElement, picture: Picture): () => void {
  let wait = 0;
  const lost = (event: Event): void => {
    event.preventDefault();
    wait = setTimeout(() => { undrawn.value = LOST; }, PATIENCE) as unknown as number;
  };
  const back = (): void => {
    clearTimeout(wait);
    if (undrawn.value === LOST) undrawn.value = "";
    else picture.restored();
  };
  canvas.addEventListener("webglcontextlost", lost);
  canvas.addEventListener("webglcontextrestored", back);
  return () => {
    clearTimeout(wait);
    canvas.removeEventListener("webglcontextlost", lost);
  };
}

/** Room at the edges: for the word buttons in the corner, and for signs. */
function marginsOf(frame: HTMLElement): Margins {
  const box = frame.getBoundingClientRect();
  const side = Math.max(14, Math.min(40, box.width * 0.045, box.height * 0.06));
  const words = frame.parentElement?.querySelector(".tools .words")?.getBoundingClientRect();
  const top = words && words.bottom - box.top < box.height * 0.3 ? words.bottom - box.top + 10 : side;
  return { left: side, right: side, top: Math.max(side, top), bottom: side };
}

/** The finding of a sign, by the number it shows. */
function findingOf(says: string): Finding | undefined {
  const number = Number(/\d+/.exec(says)?.[0] ?? NaN);
  return walk.value.findings.find((one) => one.number === number);
}

function choose(says: string): void {
  const found = findingOf(says);
  if (!found) return;
  tab.value = "findings";
  finding.value = walk.value.findings.indexOf(found);
}

function handles(picture: Picture): Handles {
  const { stand } = picture;
  return {
    turn: (dx, dy) => { stand.turn(dx, dy); },
    move: (dx, dy) => { stand.move(dx, dy); },
    closer: (factor, x, y) => { stand.nearer(factor, x, y); },
    fit: () => { stand.fit(); },
    twice: (x, y) => { stand.approach(x, y); },
    touch: (x, y, finger) => {
      if (!measuring.value) {
        piece.value = picture.under(x, y)?.part ?? null;
        return;
      }
      const found = picture.picked(x, y, finger);
      if (found) picked.value = picked.value.length >= 2 ? [found] : [...picked.value, found];
    },
  };
}
