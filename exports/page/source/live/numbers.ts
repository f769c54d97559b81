/** The design's named numbers as the page has them: as in the file, as being typed, and what was changed. */

import { signal } from "@preact/signals";
import type { NamedNumber } from "../walk.ts";
import { write } from "./writing.ts";
import type { Answer } from "./writing.ts";

/** The numbers as they stand in the file, as far as the page knows. */
export const numbers = signal<readonly NamedNumber[]>([]);

/** What is typed in a field and not in the file, and what was said to it. */
export interface Draft {
  text: string;
  state: "typed" | "sent" | "refused" | "changed elsewhere";
  said: string;
  accepted: string;
}
export const drafts = signal<Readonly<Record<string, Draft>>>({});

export interface Change { key: string; from: string; to: string }
/** What was changed on this page, the last at the end. */
export const changes = signal<readonly Change[]>([]);
/** The last thing done, in words, for whoever listens. */
export const told = signal("");

const CHANGES_MOST = 50;
/** Own changes that data made before them does not know yet: what was there, what is there now. */
const own = new Map<string, { from: string; to: string }>();
let tail: Promise<unknown> = Promise.resolve();

/** Takes up the numbers of new data; what it does not know yet of our own changes stays. */
export function renewed(next: readonly NamedNumber[]): void {
  numbers.value = next.map((one) => {
    const mine = own.get(one.key);
    if (mine && one.text === mine.from) return { ...one, text: mine.to };
    own.delete(one.key);
    return one;
  });
  const known = new Set(next.map((one) => one.key));
  drafts.value = Object.fromEntries(Object.entries(drafts.peek()).filter(([key]) => known.has(key)));
}

export function numberOf(key: string): NamedNumber | undefined {
  return numbers.peek().find((one) => one.key === key);
}

/** Keeps what is typed; the same as in the file is nothing typed. */
export function type(key: string, text: string): void {
  if (text === numberOf(key)?.text) forget(key);
  else set(key, { text, state: "typed", said: "", accepted: "" });
}

export function forget(key: string): void {
  drafts.value = Object.fromEntries(Object.entries(drafts.peek()).filter(([other]) => other !== key));
}

function set(key: string, draft: Draft): void {
  drafts.value = { ...drafts.peek(), [key]: draft };
}

/** Writes what is typed into the file, after what is being written. */
export function apply(key: string): Promise<void> {
  return next(async () => {
    const was = numberOf(key);
    const draft = drafts.peek()[key];
    if (!was || !draft) return;
    const text = draft.text.trim();
    if (text === was.text) { forget(key); return; }
    set(key, { ...draft, state: "sent", said: "" });
    heed(key, was, text, await write(key, was.text, text), true);
  });
}

/** Takes the last change back. */
export function undo(): Promise<void> {
  return next(async () => {
    const last = changes.peek().at(-1);
    const now = last && numberOf(last.key);
    changes.value = changes.peek().slice(0, -1);
    if (!last || !now) return;
    set(last.key, { text: last.from, state: "sent", said: "", accepted: "" });
    heed(last.key, { ...now, text: last.to }, last.from, await write(last.key, last.to, last.from), false);
  });
}

function next(does: () => Promise<void>): Promise<void> {
  const done = tail.then(does);
  tail = done.catch(() => undefined);
  return done;
}

function heed(key: string, was: NamedNumber, text: string, answer: Answer, undoable: boolean): void {
  const typed = drafts.peek()[key]?.state === "typed" ? drafts.peek()[key]! : null;
  if (answer.is === "refused") {
    if (!typed) set(key, { text, state: "refused", said: answer.said, accepted: answer.accepted });
    told.value = `${was.says}: ${answer.said}`;
    return;
  }
  if (answer.is === "outdated") {
    if (answer.text !== null) put(key, answer.text);
    const said = answer.text === null ? answer.said : `the file has ${answer.text} there by now`;
    if (!typed) set(key, { text, state: "changed elsewhere", said, accepted: "" });
    told.value = `${was.says}: ${said}`;
    return;
  }
  own.set(key, { from: was.text, to: answer.text });
  put(key, answer.text);
  if (!typed) forget(key);
  if (undoable) changes.value = [...changes.peek(), { key, from: was.text, to: answer.text }].slice(-CHANGES_MOST);
  told.value = `${was.says} is ${answer.text} now`;
}

function put(key: string, text: string): void {
  numbers.value = numbers.peek().map((one) => one.key === key ? { ...one, text } : one);
}
