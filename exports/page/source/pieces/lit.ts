/** Pieces lit up beside the chosen one. */

import { signal } from "@preact/signals";

export const lit = signal<ReadonlySet<number>>(new Set());
