/** A changed rehearsal comes in, and the page stays where it was: step, chosen piece, finding and what is hidden. */

import { batch } from "@preact/signals";
import { finding, hidden, picked, piece, playing, share, step, walk } from "../state.ts";
import { open } from "../shell/address.ts";
import { stepNamed } from "../shell/links.ts";
import type { Finding, Walk } from "../walk.ts";
import { renewed } from "./numbers.ts";

/** The step to come back to when the order is known again, by its name. */
let place: string | null = null;
/** What the address named when the page was opened, until it could be opened there. */
let address = "";
/** Whether no work has been shown yet. */
let first = false;

/** Remembers what the address names, where there is nothing yet to open. */
export function openLater(hash: string): void {
  address = hash;
}

/** Shows a rehearsal in place of the one before. */
export function take(next: Walk): void {
  const before = walk.peek();
  if (before.parts.length === 0) first = true;
  if (before.planned) place = before.steps[step.peek()]?.id ?? null;
  const shared = share.peek();
  const chosen = finding.peek();
  const index = named(before, next);
  batch(() => {
    playing.value = false;
    picked.value = [];
    piece.value = piece.peek() === null ? null : index(piece.peek()!);
    hidden.value = new Set([...hidden.peek()].map(index).filter((one) => one !== null));
    finding.value = chosen === null ? null : same(before.findings[chosen], before, next);
    walk.value = next;
  });
  settle(next, shared);
  document.title = next.title;
  if (next.planned) outdate();
  renewed(next.live?.numbers ?? []);
}

/** Says in the static words, which are printed, that they are of an earlier state. */
function outdate(): void {
  const words = document.getElementById("words");
  if (!words) return;
  const said = document.createElement("p");
  said.textContent = "The work has changed since this page was opened: load it again before printing.";
  words.replaceChildren(said);
}

/** Goes to the step that was left, once there are steps. */
function settle(next: Walk, shared: number): void {
  const back = place === null ? null : stepNamed(place, next);
  if (next.planned && back !== null) {
    batch(() => {
      step.value = back;
      share.value = next.steps[back]?.id === place ? shared : 1;
    });
  } else if (step.peek() >= next.steps.length || (next.planned && first)) {
    step.value = next.planned && first ? 0 : next.steps.length - 1;
  }
  if (next.planned) { place = null; first = false; }
  if (address !== "" && next.parts.length > 0 && (next.planned || !address.startsWith("#step"))) {
    open(address);
    address = "";
  }
}

/** From the number of a piece to that of the piece of the same name. */
function named(before: Walk, next: Walk): (index: number) => number | null {
  const places = new Map(next.parts.map((part, index) => [part.name, index]));
  return (index) => places.get(before.parts[index]?.name ?? "") ?? null;
}

/** The finding that is about the same thing: its kind and its pieces. */
export function same(found: Finding | undefined, before: Walk, next: Walk): number | null {
  if (!found) return null;
  const about = (one: Finding, of: Walk): string =>
    JSON.stringify([one.kind, one.parts.map((part) => of.parts[part]?.name ?? "")]);
  const wanted = about(found, before);
  const index = next.findings.findIndex((one) => about(one, next) === wanted);
  return index < 0 ? null : index;
}
