/** Where signs stand: near their points, off the wood that moves, clear of each other. Works without a browser. */

/** Left, top, right, bottom, CSS px. */
export type Field = [number, number, number, number];

/** A sign to be placed: its point, its size, and whether it stands right above its point (a mark) or may step aside. */
export interface Wanted { x: number; y: number; width: number; height: number; fixed: boolean }

/** Where a sign stands (its upper left corner), and whether a line leads from it to its point. */
export interface Stood { left: number; top: number; led: boolean }

const GAP = 6;
const REACHES = [14, 34, 62, 98, 140];
const TURNS = [-90, -55, -125, -20, -160, 20, 160, 55, 125, 90].map((degrees) => degrees * Math.PI / 180);

function shared(a: Field, b: Field): number {
  return Math.max(0, Math.min(a[2], b[2]) - Math.max(a[0], b[0])) * Math.max(0, Math.min(a[3], b[3]) - Math.max(a[1], b[1]));
}

const over = (field: Field, others: readonly Field[]): number => others.reduce((sum, other) => sum + shared(field, other), 0);
const grown = (f: Field, by: number): Field => [f[0] - by, f[1] - by, f[2] + by, f[3] + by];

/** Place the signs one after the other in a picture of a size; fields of arrows are better left free, and by signs that
 * may step aside those of `pieces` too. */
export function placedSigns(wanted: readonly Wanted[], width: number, height: number, arrows: readonly Field[],
  pieces: readonly Field[]): Stood[] {
  const stood: Field[] = [];
  const order = wanted.map((_, k) => k).sort((a, b) => Number(wanted[b]!.fixed) - Number(wanted[a]!.fixed) || a - b);
  const found: Stood[] = [];
  order.forEach((k) => {
    const one = wanted[k]!;
    let [best, least, led] = [fieldAt(one, -Math.PI / 2, GAP, width, height), Infinity, false];
    const reaches = one.fixed ? [GAP, ...REACHES] : REACHES;
    reaches.forEach((reach, far) => {
      TURNS.forEach((turn, round) => {
        const field = fieldAt(one, turn, reach, width, height);
        const own = shared(field, [one.x - 4, one.y - 4, one.x + 4, one.y + 4]) > 0 ? 4000 : 0;
        const cost = far * 60 + round * 8 + own + stood.reduce((sum, other) => sum + 40 * shared(grown(field, 3), other), 0) +
          4 * over(field, arrows) + (one.fixed ? 0 : over(field, pieces));
        if (cost < least - 1e-9) [best, least, led] = [field, cost, reach > 20];
      });
    });
    stood.push(best);
    found[k] = { left: best[0], top: best[1], led };
  });
  return found;
}

/** The field of a sign that lies in a direction from its point, its nearest side `reach` away, kept in the picture. */
function fieldAt(one: Wanted, turn: number, reach: number, width: number, height: number): Field {
  const [ux, uy] = [Math.cos(turn), Math.sin(turn)];
  const x = one.x + ux * (reach + one.width / 2);
  const y = one.y + uy * (reach + one.height / 2);
  const left = Math.min(Math.max(4, x - one.width / 2), Math.max(4, width - one.width - 4));
  const top = Math.min(Math.max(4, y - one.height / 2), Math.max(4, height - one.height - 4));
  return [left, top, left + one.width, top + one.height];
}

/** The point of a field nearest to a point. */
export function edgeTowards(field: Field, x: number, y: number): [number, number] {
  return [Math.min(field[2], Math.max(field[0], x)), Math.min(field[3], Math.max(field[1], y))];
}
