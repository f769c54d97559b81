/** The rule: draw the pencil along it to go through the order. A tick a step; a long tick and a figure begin a stage. */

import { useEffect, useRef, useState } from "preact/hooks";
import { share, step, walk } from "../state.ts";
import { placeAt, placeOf, ruleOf, xAt } from "./geometry.ts";
import type { Notch, Rule as Drawn } from "./geometry.ts";
import { goTo, goToPlace, next, back, nextStage } from "./player.ts";

/** Room at either end and for one figure, in rem; the strip's height in px is that of its box. */
const MARGIN = 1;
const FIGURE = 1.5;
/** So far, px, off the rule the thumb has to be for the pencil to move half as fast as the thumb. */
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
      <rect class="strip" x="1" y={top} width={rule.width - 2} height={deep} rx="2" />
      <rect class="gone" x="1" y={top} width={Math.max(0, x - 1)} height={deep} rx="2" />
      {rule.ticks.map((tick) => (
        <path key={tick.x} class={`tick ${tick.length}`} d={`M${tick.x.toFixed(1)} ${top}v${lengths[tick.length].toFixed(1)}`} />
      ))}
      {rule.figures.map((figure) => (
        <text key={figure.stage} x={figure.x + 0.28 * rem} y={bottom - 0.26 * rem} font-size={1.05 * rem}>{figure.says}</text>
      ))}
      {rule.notches.map((notch) => <Cut key={notch.x} notch={notch} bottom={bottom} />)}
      <g class="pencil" transform={`translate(${x.toFixed(1)} 0)`}>
        <path class="lead" d={`M0 ${top - 3}V${bottom + 3}`} />
        <path class="point" d={`M0 ${top + deep * 0.16} l-8 ${-deep * 0.34} h16 z`} />
        <path class="point" d={`M0 ${bottom - deep * 0.16} l-8 ${deep * 0.34} h16 z`} />
      </g>
    </svg>
  );
}

/** A notch in the far edge where a finding shows; deeper with more harm. */
function Cut({ notch, bottom }: { notch: Notch; bottom: number }) {
  const deep = { stop: 15, warn: 12, note: 8 }[notch.severity];
  return <path class={`notch ${notch.severity}`} d={`M${(notch.x - deep * 0.6).toFixed(1)} ${bottom + 1}l${deep * 0.6} ${-deep}l${deep * 0.6} ${deep}z`} />;
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
