/** What other parts of the page may ask of the picture: to fit, to come closer, to go farther. */

import type { Picture } from "./picture.ts";

let shown: Picture | null = null;

export function looksAt(picture: Picture | null): void { shown = picture; }
export function fit(): void { shown?.fit(); }
export function nearer(): void { shown?.nearer(0.75); }
export function farther(): void { shown?.nearer(1 / 0.75); }
export function snapshot(): string { return shown?.snapshot() ?? ""; }
