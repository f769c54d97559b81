/** What other parts of the page may ask of the picture: to fit, to come closer, to go farther. */

import type { Picture } from "./picture.ts";

let shown: Picture | null = null;

export function looksAt(picture: Picture | null): void { shown = picture; }
export function fit(): void { shown?.stand.fit(); }
export function nearer(): void { shown?.stand.nearer(0.75); }
export function farther(): void { shown?.stand.nearer(1 / 0.75); }
/** Whether the eye stands on the far side, along an axis, of the middle of the work. */
export function beyond(axis: 0 | 1 | 2): boolean { return shown?.beyond(axis) ?? true; }
export function snapshot(): string { return shown?.snapshot() ?? ""; }
