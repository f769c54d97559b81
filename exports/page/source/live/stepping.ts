/** A number one step larger or smaller, written the way it was written: "8 ft 4 in" becomes "8 ft 4 1/8 in". */

import type { NamedNumber } from "../walk.ts";

/** A step and a large step: in inches an eighth and a whole, in millimetres 1 and 10, in degrees 1 and 5. */
const STEPS: Readonly<Record<string, readonly [number, number]>> = {
  mm: [1, 10], cm: [0.1, 1], m: [0.01, 0.1], in: [0.125, 1], ft: [0.125, 1], deg: [1, 5], count: [1, 5],
};
const FINEST = 64;
/** Below this, mm, a length is a clearance, and goes by tenths. */
const FINE = 2;

/** The text a step further; null where it is no number that can be stepped. */
export function stepped(number: NamedNumber, text: string, unit: "mm" | "in", way: 1 | -1, large: boolean): string | null {
  const plain = text.trim();
  if (number.kind === "length") return length(plain, unit, way, large);
  const found = /^([+-]?\d*\.?\d+)\s*(deg|degrees|°)?$/.exec(plain);
  if (!found) return null;
  const places = decimals(found[1]!);
  const step = number.kind === "number" ? 10 ** -places * (large ? 10 : 1) : STEPS[number.kind === "angle" ? "deg" : "count"]![large ? 1 : 0]!;
  const suffix = found[2] === undefined ? "" : plain.slice(found[1]!.length);
  return round(Number(found[1]) + way * step, places) + suffix;
}

interface Term { value: number; unit: string | null; fraction: boolean; places: number }

function length(text: string, unit: "mm" | "in", way: 1 | -1, large: boolean): string | null {
  const negative = text.startsWith("-");
  const terms = termsOf(text.replace(/^[+-]\s*/, ""));
  if (!terms) return null;
  const last = terms.at(-1)!;
  const named = last.unit ?? unit;
  const step = way * STEPS[named]![large ? 1 : 0]!;
  if (named !== "in" && named !== "ft") {
    if (terms.length > 1) return null;
    const fine = named === "mm" && last.value < FINE;
    const value = (negative ? -last.value : last.value) + (fine ? step / 10 : step);
    return round(value, Math.max(last.places, named === "m" ? 2 : named === "cm" || fine ? 1 : 0)) + (last.unit ? ` ${last.unit}` : "");
  }
  const inches = terms.reduce((sum, one) => sum + one.value * ((one.unit ?? unit) === "ft" ? 12 : 1), 0);
  if (terms.some((one) => !["in", "ft"].includes(one.unit ?? unit))) return null;
  return imperial((negative ? -inches : inches) + step, terms);
}

function termsOf(text: string): Term[] | null {
  const term = /^(\d+\s+\d+\/\d+|\d+\/\d+|\d+(?:\.\d+)?|\.\d+)\s*(mm|cm|m|in|ft|"|')?(?![A-Za-z])\s*/;
  const terms: Term[] = [];
  for (let rest = text.trim(); rest !== "";) {
    const found = term.exec(rest);
    if (!found) return null;
    const unit = found[2] === "\"" ? "in" : found[2] === "'" ? "ft" : found[2] ?? null;
    if (unit === null && terms.length > 0) return null;
    terms.push({ value: valueOf(found[1]!), unit, fraction: found[1]!.includes("/"), places: decimals(found[1]!) });
    rest = rest.slice(found[0].length);
  }
  return terms.length > 0 && terms.every((one) => Number.isFinite(one.value)) ? terms : null;
}

function valueOf(text: string): number {
  return text.split(/\s+/).reduce((sum, word) => {
    const [over, under] = word.split("/").map(Number);
    return sum + (under === undefined ? over! : over! / under);
  }, 0);
}

/** Inches as the terms were written: with feet where there were some, as fractions unless there were decimals. */
function imperial(inches: number, terms: readonly Term[]): string {
  const sign = inches < 0 ? "-" : "";
  const size = Math.abs(inches);
  const last = terms.at(-1)!;
  const exact = Number.isInteger(Math.round(size * FINEST * 1e6) / 1e6);
  const bare = terms.length === 1 && last.unit === null && !last.fraction;
  const said = (value: number): string => bare || last.places > 0 || !exact ? round(value, 4) : fraction(value);
  if (!terms.some((one) => one.unit === "ft")) return `${sign}${said(size)}${last.unit === null ? "" : " in"}`;
  const feet = Math.floor(size / 12 + 1e-9);
  const rest = size - 12 * feet;
  if (rest < 1e-6) return `${sign}${feet} ft`;
  return feet === 0 ? `${sign}${said(rest)} in` : `${sign}${feet} ft ${said(rest)} in`;
}

function fraction(value: number): string {
  let over = Math.round(value * FINEST);
  let under = FINEST;
  while (over % 2 === 0 && under > 1) { over /= 2; under /= 2; }
  const whole = Math.floor(over / under);
  const rest = over - whole * under;
  if (rest === 0) return String(whole);
  return whole === 0 ? `${rest}/${under}` : `${whole} ${rest}/${under}`;
}

function decimals(text: string): number {
  return text.includes(".") ? text.split(".")[1]!.length : 0;
}

function round(value: number, places: number): string {
  return String(Number((value + 0).toFixed(Math.max(places, 0))));
}
