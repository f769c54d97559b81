/** Lengths and angles as the maker reads them. `show` says a length exactly as `show` in model/units.py does. */

export type Unit = "mm" | "in";

export const INCH = 25.4;

/** A length as a person reads it: tenths of a millimetre, or inches to a sixteenth. */
export function show(mm: number, unit: Unit): string {
  if (unit === "mm") return `${fixed(mm, 1).replace(/\.0$/, "")} mm`;
  const ticks = nearest((Math.abs(mm) / INCH) * 16);
  const text = fraction(ticks);
  return `${mm < 0 && ticks > 0 ? "-" : ""}${text} in`;
}

/** A measured length: tenths of a millimetre; inches to a sixteenth with the thousandth in brackets. */
export function measured(mm: number, unit: Unit): string {
  const size = Math.abs(mm);
  return unit === "mm" ? show(size, unit) : `${show(size, unit)} (${fixed(size / INCH, 3)})`;
}

/** An angle in degrees, to a tenth. */
export function degrees(radians: number): string {
  return `${fixed((radians * 180) / Math.PI, 1).replace(/\.0$/, "")}°`;
}

/** A share from 0 to 1 as whole hundredths: "40 %". */
export function percent(share: number): string {
  return `${nearest(share * 100)} %`;
}

/** A length out of words such as `show` writes them, in mm; null when it is none. */
export function read(text: string): number | null {
  const found = /^(-?)(?:(\d+(?:\.\d+)?)(?:\s+(\d+)\/(\d+))?|(\d+)\/(\d+))\s*(mm|in)$/.exec(text.trim());
  if (found === null) return null;
  const [, sign, whole, over, under, part, parts, unit] = found;
  const value = Number(whole ?? 0) + (over ? Number(over) / Number(under) : 0) + (part ? Number(part) / Number(parts) : 0);
  const mm = value * (unit === "in" ? INCH : 1) * (sign ? -1 : 1);
  return Number.isFinite(mm) ? mm : null;
}

function fraction(ticks: number): string {
  const whole = Math.floor(ticks / 16);
  let over = ticks % 16;
  let under = 16;
  while (over > 0 && over % 2 === 0) { over /= 2; under /= 2; }
  const words = [whole > 0 ? String(whole) : "", over > 0 ? `${over}/${under}` : ""].filter((w) => w !== "");
  return words.join(" ") || "0";
}

/** The nearest whole number; of two equally near, the even one. */
function nearest(value: number): number {
  const below = Math.floor(value);
  const rest = value - below;
  if (rest === 0.5) return below % 2 === 0 ? below : below + 1;
  return rest < 0.5 ? below : below + 1;
}

/** Fixed decimals; a tie that a binary number can hold goes to the even digit, and a negative nought keeps its sign. */
function fixed(value: number, digits: 1 | 3): string {
  const sign = value < 0 || Object.is(value, -0) ? "-" : "";
  const size = Math.abs(value);
  return sign + (isTie(size, digits) ? evenTie(size, digits) : size.toFixed(digits));
}

/** Whether a number lies exactly between two of so many decimals: then it has one decimal more, a five. */
function isTie(size: number, digits: number): boolean {
  const more = size.toFixed(digits + 1);
  return more.endsWith("5") && Number(more) === size && exact(size, digits + 1);
}

/** Whether so many decimals hold the number exactly: a binary fraction of no more places than decimals. */
function exact(size: number, digits: number): boolean {
  return (size * 2 ** digits) % 1 === 0;
}

function evenTie(size: number, digits: number): string {
  const low = Math.floor(size * 10 ** digits);
  return ((low % 2 === 0 ? low : low + 1) / 10 ** digits).toFixed(digits);
}
