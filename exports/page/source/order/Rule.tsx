/** The rule: draw the slide along it to go through the order. A tick a step; a long tick and a figure begin a stage. */

import { useEffect, useRef, useState } from "preact/hooks";
import { share, step, walk } from "../state.ts";
import { placeAt, placeOf, ruleOf, xAt } from "./geometry.ts";
import type { Notch, Rule as Drawn } from "./geometry.ts";
import { goTo, goToPlace, next, back, nextStage } from "./player.ts";

/** Room at either end and for one figure, in rem; the strip's height in px is that of its box. */
const MARGIN = 1.1;
const FIGURE = 1.5;
/** Half the width of the slide that is drawn along, px. */
const SLIDE = 13;
/** So far, px, off the rule the thumb has to be for the slide to move half as fast as the thumb. */
const SLOWER = 60;

export function Rule() {
  const box = useRef<HTMLDivElement>(null);
  const size = useSize(box);
  const rule = ruleOf(walk.value, size.width, MARGIN * size.rem, FIGURE * size.rem);
  const drag = useDrag(box, rule);
  const steps = walk.value.steps.length;
  const now = walk.value.steps[step.value];
  return (
    <div ref={box} class="rule" role="slider" tabIndex={0} aria-label="The rule: where in the order"
      aria-orientation="horizontal" aria-valuemin={1} aria-valuemax={steps} aria-valuenow={step.value + 1}
      aria-valuetext={now ? spoken() : ""} onKeyDown={onKey} {...drag}>
      {size.width > 0 && <Strip rule={rule} height={size.height} rem={size.rem} />}
    </div>
  );
}

/** Where one is, in words. */
export function spoken(): string {
  const now = walk.value.steps[step.value];
  const stage = now && now.stage !== null ? walk.value.stages[now.stage] : undefined;
  const of = `Step ${step.value + 1} of ${walk.value.steps.length}`;
  return `${of}, ${stage ? `${stage.title}, ` : ""}${now?.title ?? ""}`;
}

function Strip({ rule, height, rem }: { rule: Drawn; height: number; rem: number }) {
  const steps = walk.value.steps.length;
  const x = xAt(placeOf(step.value, share.value), steps, rule.width, rule.margin);
  const top = height * 0.14;
  const bottom = height * 0.86;
  const deep = bottom - top;
  const lengths = { step: deep * 0.24, fifth: deep * 0.36, stage: deep };
  return (
    <svg width={rule.width} height={height} viewBox={`0 0 ${rule.width} ${height}`} aria-hidden="true" focusable="false">
      <rect class="strip" x="1" y={top} width={Math.max(0, rule.width - 2)} height={deep} rx="2" />
      <rect class="gone" x="1" y={top} width={Math.max(0, x - 1)} height={deep} rx="2" />
      {rule.ticks.map((tick) => (
        <path key={tick.x} class={`tick ${tick.length}`} d={`M${tick.x.toFixed(1)} ${top}v${lengths[tick.length].toFixed(1)}`} />
      ))}
      {rule.figures.map((figure) => (
        <text key={figure.stage} x={figure.x + 0.28 * rem} y={bottom - 0.26 * rem} font-size={1.05 * rem}>{figure.says}</text>
      ))}
      {rule.notches.map((notch) => <Cut key={notch.x} notch={notch} bottom={bottom} />)}
      <g transform={`translate(${x.toFixed(1)} 0)`}>
        <rect class="slide" x={-SLIDE} y={2} width={2 * SLIDE} height={height - 4} rx="3" />
        <path class="hair" d={`M0 ${top}V${bottom}`} />
        <path class="grip" d={`M-6 ${top / 2 + 1}h12M-6 ${(height + bottom) / 2 - 1}h12`} />
      </g>
    </svg>
  );
}

const DEEP = { stop: 19, warn: 16, note: 10 };

/** A notch in the lower edge where a finding shows; deeper, and with a stroke in it, with more harm. */
function Cut({ notch, bottom }: { notch: Notch; bottom: number }) {
  const deep = DEEP[notch.severity];
  const half = deep * 0.62;
  return (
    <g class={`notch ${notch.severity}`} transform={`translate(${notch.x.toFixed(1)} ${bottom + 1})`}>
      <path d={`M${-half} 0L0 ${-deep}L${half} 0z`} />
      {notch.severity !== "note" && <path class="mark" d={`M0 ${-0.66 * deep}v${0.32 * deep}M0 ${-0.16 * deep}v.5`} />}
    </g>
  );
}

function onKey(event: KeyboardEvent): void {
  const does: Record<string, () => void> = {
    ArrowRight: next, ArrowUp: next, ArrowLeft: back, ArrowDown: back, Home: () => { goTo(0); },
    End: () => { goTo(walk.value.steps.length - 1); }, PageUp: () => { nextStage(1); }, PageDown: () => { nextStage(-1); },
  };
  const act = does[event.key];
  if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
  event.preventDefault();
  act();
}

interface Size { width: number; height: number; rem: number }

function useSize(box: { current: HTMLDivElement | null }): Size {
  const [size, setSize] = useState<Size>({ width: 0, height: 0, rem: 16 });
  useEffect(() => {
    const element = box.current;
    if (!element) return;
    const measure = () => {
      const { width, height } = element.getBoundingClientRect();
      setSize({ width, height, rem: parseFloat(getComputedStyle(document.documentElement).fontSize) || 16 });
    };
    measure();
    const watch = new ResizeObserver(measure);
    watch.observe(element);
    return () => { watch.disconnect(); };
  }, []);
  return size;
}

/** Drawing along: at once to where it is touched, then with the thumb, slower the further the thumb is off the rule. */
function useDrag(box: { current: HTMLDivElement | null }, rule: Drawn) {
  const held = useRef<{ x: number; at: number } | null>(null);
  const go = (at: number) => { goToPlace(placeAt(at, walk.value.steps.length, rule.width, rule.margin)); };
  return {
    onPointerDown: (event: PointerEvent) => {
      if (event.button !== 0 || !box.current) return;
      box.current.setPointerCapture(event.pointerId);
      const at = event.clientX - box.current.getBoundingClientRect().left;
      held.current = { x: event.clientX, at };
      go(at);
    },
    onPointerMove: (event: PointerEvent) => {
      const before = held.current;
      if (!before || !box.current) return;
      const edges = box.current.getBoundingClientRect();
      const off = Math.max(0, edges.top - event.clientY, event.clientY - edges.bottom);
      const at = before.at + (event.clientX - before.x) / (1 + off / SLOWER);
      held.current = { x: event.clientX, at };
      go(at);
    },
    onPointerUp: () => { held.current = null; },
    onPointerCancel: () => { held.current = null; },
  };
}
