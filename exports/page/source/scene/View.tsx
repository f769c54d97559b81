/** The work in three dimensions: mounts the picture and follows what is chosen. */

import "./scene.css";
import { effect } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { now } from "../moment/now.ts";
import { undrawn } from "../shell/drawing.ts";
import { alone, cut, finding, hidden, measuring, picked, piece, showing, tab, theme, walk } from "../state.ts";
import { follow } from "./controls.ts";
import type { Handles } from "./controls.ts";
import { looksAt } from "./looking.ts";
import { DARK, LIGHT } from "./looks.ts";
import type { Paper } from "./looks.ts";
import { Overlay } from "./overlay.ts";
import { Picture } from "./picture.ts";

const LOST = "The drawing was lost, as happens when a device runs out of memory. Load the page again to draw the work anew.";

export function View() {
  const frame = useRef<HTMLDivElement>(null);
  const canvas = useRef<HTMLCanvasElement>(null);
  const lines = useRef<SVGSVGElement>(null);
  const signs = useRef<HTMLDivElement>(null);
  useEffect(() => mount(frame.current!, canvas.current!, lines.current!, signs.current!), []);
  return (
    <div class="work" ref={frame}>
      <canvas ref={canvas} tabIndex={0} role="application" aria-label={said()}
        aria-roledescription="the work, to be turned with the arrow keys" />
      <svg ref={lines} class="over" aria-hidden="true" />
      <div ref={signs} class="signs" />
    </div>
  );
}

function said(): string {
  const shown = { step: "the work at this step", pieces: "the pieces", finding: "what was found" }[showing.value];
  return `${walk.value.title}: ${shown}, in three dimensions. Arrow keys turn it, plus and minus come closer, 0 fits it.`;
}

function paper(): Paper {
  const dark = theme.value === "dark" || (theme.value === "as the device" && matchMedia("(prefers-color-scheme: dark)").matches);
  return dark ? DARK : LIGHT;
}

function mount(frame: HTMLElement, canvas: HTMLCanvasElement, lines: SVGSVGElement, signs: HTMLElement): () => void {
  const overlay = new Overlay(lines, signs, (sign) => { choose(sign.says); });
  let picture: Picture;
  try {
    picture = new Picture(canvas, overlay, paper());
  } catch {
    undrawn.value = "This browser cannot draw the work in three dimensions. The pictures and the words below say the same.";
    return () => undefined;
  }
  looksAt(picture);
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  picture.calm = still.matches;
  picture.drawn = () => {
    document.documentElement.dataset["ready"] = "yes";
    performance.mark("ready");
  };
  const sizes = new ResizeObserver(() => {
    picture.margins = marginsOf(frame);
    picture.resized();
  });
  sizes.observe(frame);
  picture.margins = marginsOf(frame);
  const scheme = matchMedia("(prefers-color-scheme: dark)");
  const repaint = (): void => { picture.repaint(paper()); };
  scheme.addEventListener("change", repaint);
  const stops = [
    effect(() => { picture.load(walk.value); }),
    effect(() => { picture.show(now.value, piece.value, cut.value); }),
    effect(repaint),
    follow(canvas, handles(picture)),
  ];
  canvas.addEventListener("webglcontextlost", (event) => { event.preventDefault(); undrawn.value = LOST; });
  return () => {
    for (const stop of stops) stop();
    sizes.disconnect();
    scheme.removeEventListener("change", repaint);
    looksAt(null);
    picture.close();
  };
}

/** Room at the edges: for the word buttons in the corner, and for signs. */
function marginsOf(frame: HTMLElement): Picture["margins"] {
  const words = frame.parentElement?.querySelector(".tools .words")?.getBoundingClientRect();
  const box = frame.getBoundingClientRect();
  const side = Math.max(14, Math.min(36, box.width * 0.04));
  const top = words && words.bottom - box.top < box.height * 0.3 ? words.bottom - box.top + 10 : side;
  return { left: side, right: side, top: Math.max(side, top), bottom: side };
}

function choose(says: string): void {
  const number = Number(/\d+/.exec(says)?.[0] ?? NaN);
  const index = walk.value.findings.findIndex((one) => one.number === number);
  if (index < 0) return;
  tab.value = "findings";
  finding.value = index;
}

function handles(picture: Picture): Handles {
  return {
    turn: (dx, dy) => { picture.turn(dx, dy); },
    move: (dx, dy) => { picture.move(dx, dy); },
    closer: (factor, x, y) => { picture.nearer(factor, x, y); },
    fit: () => { picture.fit(); },
    held: () => undefined,
    twice: (x, y) => { picture.approach(x, y); },
    touch: (x, y, finger) => {
      if (measuring.value) {
        const found = picture.picked(x, y, finger);
        if (found) picked.value = picked.value.length >= 2 ? [found] : [...picked.value, found];
        return;
      }
      const hit = picture.under(x, y);
      piece.value = hit && !(alone.value && hidden.value.has(hit.part)) ? hit.part : null;
    },
  };
}
