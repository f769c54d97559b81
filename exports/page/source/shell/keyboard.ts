/** Keys that work anywhere on the page, except where something with keys of its own has the focus. */

import { walk } from "../state.ts";
import { back, goTo, next, nextStage, playOrPause } from "../order/player.ts";
import { running, touch, undo } from "../order/running.ts";
import { keysShown } from "./Settings.tsx";

/** What each key does, in words, for the list. */
export const KEYS: [string, string][] = [
  ["→ or ←", "a step on, a step back"],
  ["Page Down or Page Up", "the next stage, the stage before"],
  ["Home or End", "the first step, the finished work"],
  ["Space", "play or pause; while a glue-up is run: tick the step"],
  ["Backspace", "while a glue-up is run: undo the last tick"],
  ["Tab", "from one thing to the next; arrows choose among the tabs and along the rule"],
  ["?", "this list"],
];

const OWN_KEYS = "input, select, textarea, [contenteditable]";
const OWN_SPACE = "button, summary, a[href]";

function stepKeys(): Record<string, () => void> {
  return {
    ArrowRight: next, ArrowLeft: back, " ": playOrPause, PageDown: () => { nextStage(1); }, PageUp: () => { nextStage(-1); },
    Home: () => { goTo(0); }, End: () => { goTo(walk.value.steps.length - 1); },
    "?": () => { keysShown.value += 1; },
  };
}

export function onKey(event: KeyboardEvent): void {
  const target = event.target instanceof Element ? event.target : null;
  if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey || target?.closest(OWN_KEYS)) return;
  if (event.key === " " && (event.repeat || target?.closest(OWN_SPACE))) return;
  const act = running.value === null ? stepKeys()[event.key] : { " ": touch, Backspace: undo }[event.key];
  if (!act) return;
  event.preventDefault();
  act();
}
