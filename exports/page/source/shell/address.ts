/** The page's address: it opens at the step, finding or piece that is named, and follows what is shown. */

import { effect } from "@preact/signals";
import { finding, piece, step, tab, walk } from "../state.ts";
import { goTo } from "../order/player.ts";
import { linkTo, placeIn } from "./links.ts";
import type { Place } from "./links.ts";

/** How long the address waits for the place to rest, ms: browsers refuse to have it changed too often. */
const RESTS = 400;

/** Opens the place an address names; returns whether it names one. */
export function open(hash: string): boolean {
  const place = placeIn(hash, walk.value);
  if (!place) return false;
  if (place.kind === "step") {
    goTo(place.step);
    tab.value = "order";
  } else if (place.kind === "finding") {
    finding.value = place.finding;
    tab.value = "findings";
  } else {
    piece.value = place.piece;
    tab.value = "pieces";
  }
  return true;
}

function shownPlace(): Place {
  if (tab.value === "findings" && finding.value !== null) return { kind: "finding", finding: finding.value };
  if (tab.value === "pieces" && piece.value !== null) return { kind: "piece", piece: piece.value };
  return { kind: "step", step: step.value };
}

/** Opens what the address names, now and whenever it is changed, and lets it follow. */
export function followAddress(): void {
  open(location.hash);
  addEventListener("hashchange", () => { open(location.hash); });
  let waiting: ReturnType<typeof setTimeout> | undefined;
  effect(() => {
    const link = linkTo(shownPlace(), walk.value);
    clearTimeout(waiting);
    waiting = setTimeout(() => {
      try {
        if (location.hash !== link) history.replaceState(null, "", link);
      } catch {
        // Some browsers refuse this for a page opened from a folder; the page works without it.
      }
    }, RESTS);
  });
}
