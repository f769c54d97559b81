/** One number: its field, a step less and a step more, what it means, and what was said to what was typed. */

import { useEffect, useRef } from "preact/hooks";
import { walk } from "../state.ts";
import type { NamedNumber } from "../walk.ts";
import { apply, drafts, forget, type } from "./numbers.ts";
import { stepped } from "./stepping.ts";

/** How long steps wait for the next one before they are written, ms. */
const RESTS = 350;
const waiting = new Map<string, ReturnType<typeof setTimeout>>();

export function Field({ number }: { number: NamedNumber }) {
  const draft = drafts.value[number.key];
  const id = `number-${number.key}`;
  const wrong = draft?.state === "refused" || draft?.state === "changed elsewhere";
  const text = draft?.text ?? number.text;
  const answer = useRef<HTMLParagraphElement>(null);
  useEffect(() => { if (wrong) answer.current?.scrollIntoView({ block: "nearest" }); }, [wrong]);
  return (
    <div class={wrong ? "field wrong-field" : "field"}>
      <label for={id}>{number.says}</label>
      <div class="entry">
        <Step number={number} text={text} way={-1} />
        <input id={id} value={text} inputMode={number.kind === "count" ? "numeric" : "text"} autocomplete="off" spellcheck={false}
          aria-invalid={wrong} aria-describedby={`${id}-hint ${id}-said`}
          onInput={(event) => { cancel(number.key); type(number.key, event.currentTarget.value); }}
          onKeyDown={(event) => { onKey(event, number); }} />
        <Step number={number} text={text} way={1} />
        <span class="unit">{unitOf(number, text)}</span>
      </div>
      <p class="said" id={`${id}-said`} aria-live="polite" ref={answer}>{said(number)}</p>
      <p class="soft hint" id={`${id}-hint`}>{number.hint}<span class="hush">; line {number.line} of the file</span></p>
    </div>
  );
}

function Step({ number, text, way }: { number: NamedNumber; text: string; way: 1 | -1 }) {
  const after = stepped(number, text, walk.value.unit, way, false);
  return (
    <button type="button" class="step" disabled={after === null} aria-label={`${number.says}, ${way < 0 ? "less" : "more"}`}
      onClick={(event) => { go(number, way, event.shiftKey); }}>{way < 0 ? "−" : "+"}</button>
  );
}

function onKey(event: KeyboardEvent, number: NamedNumber): void {
  event.stopPropagation();
  if (event.key === "Enter") {
    cancel(number.key);
    void apply(number.key);
  } else if (event.key === "Escape") {
    cancel(number.key);
    forget(number.key);
  } else if (event.key === "ArrowUp" || event.key === "ArrowDown") {
    go(number, event.key === "ArrowUp" ? 1 : -1, event.shiftKey);
  } else {
    return;
  }
  event.preventDefault();
}

/** A step, written once no other follows. */
function go(number: NamedNumber, way: 1 | -1, large: boolean): void {
  const text = drafts.peek()[number.key]?.text ?? number.text;
  const after = stepped(number, text, walk.peek().unit, way, large);
  if (after === null) return;
  type(number.key, after);
  cancel(number.key);
  waiting.set(number.key, setTimeout(() => { void apply(number.key); }, RESTS));
}

function cancel(key: string): void {
  clearTimeout(waiting.get(key));
  waiting.delete(key);
}

/** The unit of a number that is written without one. */
function unitOf(number: NamedNumber, text: string): string {
  if (number.kind === "length") return /^[\s\d./+-]*$/.test(text) ? walk.value.unit : "";
  return number.kind === "angle" && /^[\s\d.+-]*$/.test(text) ? "degrees" : "";
}

/** What there is to say about what is typed. */
function said(number: NamedNumber): string {
  const draft = drafts.value[number.key];
  if (!draft) return "";
  if (draft.state === "typed") return `In the file: ${number.text}. Enter writes what is typed.`;
  if (draft.state === "sent") return "Writing …";
  if (draft.state === "changed elsewhere") return `Not written: ${draft.said}. Enter writes over it.`;
  return `Not written: ${draft.said}.${draft.accepted === "" ? "" : ` Accepted: ${draft.accepted}.`} In the file: ${number.text}.`;
}
