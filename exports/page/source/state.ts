/** What the page shows at this moment, as signals: panels set them, the scene follows. */

import { computed, signal } from "@preact/signals";
import type { FileProblem, Walk } from "./walk.ts";

/** The rehearsal shown; a page that is served gets a new one after every rebuild. */
export const walk = signal<Walk>(null as unknown as Walk);

export type Tab = "order" | "findings" | "pieces" | "numbers";
export const tab = signal<Tab>("order");

/** Where in the order we are: a step, and how much of it is done, 0 to 1 (1: as it is after the step). */
export const step = signal(0);
export const share = signal(1);
export const playing = signal(false);
/** Whether what is still to come is left out or ghosted. */
export const coming = signal<"absent" | "ghost">("absent");

/** The piece that is chosen, those that are hidden, and whether the chosen one is shown alone. */
export const piece = signal<number | null>(null);
export const hidden = signal<ReadonlySet<number>>(new Set());
export const alone = signal(false);
/** How far the finished work is spread apart, 0 to 1. */
export const apart = signal(0);

/** The cut plane: square to x, y or z, at a share of the box from its low side; what lies beyond is taken off. */
export interface Cut { axis: 0 | 1 | 2; at: number; flipped: boolean }
export const cut = signal<Cut | null>(null);

/** The finding that is chosen (index), how far its parts are drawn apart, and which way round is shown. */
export const finding = signal<number | null>(null);
export const opened = signal(1);
export const way = signal<"wrong" | "right">("wrong");

/** Measuring: on or off, and what was picked, at most two. */
export const measuring = signal(false);
export const picked = signal<readonly Pick[]>([]);

/** A place on the work that was touched, in the coordinates of what is shown, mm. */
export interface Pick {
  kind: "corner" | "edge" | "face";
  part: number;
  /** The point touched; for a corner the corner itself, for an edge the nearest point on it. */
  at: [number, number, number];
  /** The edge's ends; a face's outward normal. */
  ends?: [[number, number, number], [number, number, number]];
  normal?: [number, number, number];
}

export const theme = signal<"as the device" | "light" | "dark">("as the device");

/** The file as it is being changed (served pages only): what is wrong in it, and whether a rebuild is under way. */
export const problems = signal<readonly FileProblem[]>([]);
export const rebuilding = signal("");

/** Which scene is shown: a step of the order, the finished work apart and in pieces, or a finding. */
export const showing = computed<"step" | "pieces" | "finding">(() => {
  if (tab.value === "findings" && finding.value !== null) return "finding";
  return tab.value === "pieces" || tab.value === "numbers" ? "pieces" : "step";
});
