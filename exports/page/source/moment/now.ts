/** What is drawn now, following what is chosen. */

import { computed } from "@preact/signals";
import type { ReadonlySignal } from "@preact/signals";
import type { Moment } from "../moment.ts";
import { alone, apart, coming, finding, hidden, measuring, opened, picked, piece, share, showing, step, walk } from "../state.ts";
import { swing } from "../findings/swing.ts";
import { lit } from "../pieces/lit.ts";
import { ofFinding } from "./finding.ts";
import { withMeasure } from "./measured.ts";
import { ofPieces } from "./pieces.ts";
import { ofStep } from "./steps.ts";

function shown(): Moment {
  const all = walk.value;
  if (showing.value === "finding") {
    const number = finding.value;
    if (number !== null && number < all.findings.length) return ofFinding(all, number, opened.value, swing.value);
  }
  if (showing.value === "pieces") {
    return ofPieces(all, { apart: apart.value, piece: piece.value, hidden: hidden.value, alone: alone.value, lit: lit.value });
  }
  return ofStep(all, step.value, share.value, coming.value, hidden.value);
}

export const now: ReadonlySignal<Moment> = computed(() =>
  measuring.value || picked.value.length > 0 ? withMeasure(shown(), picked.value, walk.value.unit) : shown());
