/** How many pixels are drawn: fewer while things move and frames are slow, all of them once still. */

const MOST = 2;
const LEAST = 0.6;
/** A frame slower than this is slow, one quicker than that has time to spare, ms. */
const SLOW = 70;
const QUICK = 24;
/** Frames farther apart than this do not belong to one motion, ms. */
const APART = 400;
const STILL = 160;

export class Sharpness {
  private moving = Math.min(MOST, globalThis.devicePixelRatio || 1);
  private last = -Infinity;
  private timer = 0;
  private still = true;

  private get full(): number {
    return Math.min(MOST, globalThis.devicePixelRatio || 1);
  }

  /** The pixel ratio for a frame that begins now. */
  ratio(now: number): number {
    const passed = now - this.last;
    this.last = now;
    if (this.still && passed > APART) return this.full;
    if (passed < APART) {
      this.still = false;
      if (passed > SLOW) this.moving = Math.max(LEAST, this.moving * 0.85);
      else if (passed < QUICK) this.moving = Math.min(this.full, this.moving * 1.03);
    }
    return this.still ? this.full : this.moving;
  }

  /** Draw once more, sharp, when nothing has been drawn for a moment. */
  settle(again: () => void): void {
    clearTimeout(this.timer);
    if (this.still) return;
    this.timer = setTimeout(() => {
      this.still = true;
      this.last = -Infinity;
      again();
    }, STILL) as unknown as number;
  }
}
