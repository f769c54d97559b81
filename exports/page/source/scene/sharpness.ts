/** When the card is ready for another picture, and how many pixels that has: fewer while things move and pictures take
 * long, all of them once still. */

const MOST = 2;
const LEAST = 0.65;
/** A picture that takes longer than this is slow, one that takes less than that has time to spare, ms. */
const SLOW = 60;
const QUICK = 28;
/** After this long without a picture, and as long as one takes but no longer than that, all is still, ms. */
const STILL = 150;
const LONGEST = 700;
/** So often the card is asked whether it has drawn the last picture, ms. */
const ASKED = 40;
/** A card that has not told by then is not asked any longer, ms. */
const PATIENCE = 3000;

export class Sharpness {
  private readonly gl: WebGL2RenderingContext;
  private moving = Infinity;
  private still = true;
  private timer = 0;
  private asking = 0;
  private took = 0;
  private pending: { sync: WebGLSync; since: number } | null = null;

  constructor(gl: WebGL2RenderingContext) { this.gl = gl; }

  private get full(): number {
    return Math.min(MOST, globalThis.devicePixelRatio || 1);
  }

  /** Whether the picture before has been drawn: another would only wait behind it. */
  free(now: number): boolean {
    if (this.pending === null) return true;
    const { sync, since } = this.pending;
    const done = this.gl.getSyncParameter(sync, this.gl.SYNC_STATUS) === this.gl.SIGNALED;
    if (!done && now - since < PATIENCE && !this.gl.isContextLost()) return false;
    this.gl.deleteSync(sync);
    this.pending = null;
    if (done) {
      this.took = now - since;
      this.moving = paced(Math.min(this.moving, this.full), this.took, this.full);
    }
    return true;
  }

  /** The pixel ratio for the next picture. */
  ratio(): number {
    return this.still ? this.full : Math.min(this.moving, this.full);
  }

  /** A picture was given to the card. When things have come to rest, with none asked for, calls `again` for a sharp one;
   * once that is drawn, `rested`. */
  given(now: number, asked: () => boolean, again: () => void, rested: () => void): void {
    const sync = this.gl.fenceSync(this.gl.SYNC_GPU_COMMANDS_COMPLETE, 0);
    this.gl.flush();
    this.pending = sync ? { sync, since: now } : null;
    const sharp = this.ratio() >= this.full;
    this.still = false;
    this.rest(asked, sharp ? () => undefined : again);
    clearTimeout(this.asking);
    if (sharp) this.ask(asked, rested);
  }

  /** Once the card has drawn a sharp picture and nothing more was asked for. */
  private ask(asked: () => boolean, rested: () => void): void {
    this.asking = setTimeout(() => {
      if (asked()) return;
      if (this.free(performance.now())) rested();
      else this.ask(asked, rested);
    }, ASKED) as unknown as number;
  }

  /** Once the card has drawn and nothing more has come, all is still. */
  private rest(asked: () => boolean, then: () => void): void {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => {
      if (!this.free(performance.now()) || asked()) { this.rest(asked, then); return; }
      this.still = true;
      then();
    }, STILL + Math.min(LONGEST, this.took)) as unknown as number;
  }

  /** The card has lost all it was given. */
  lost(): void { this.pending = null; }

  /** Ask for nothing any more. */
  close(): void {
    clearTimeout(this.timer);
    clearTimeout(this.asking);
  }
}

/** The ratio after a picture that took so long: the time goes with the number of pixels. */
export function paced(ratio: number, took: number, full: number): number {
  if (took > SLOW) return Math.max(Math.min(LEAST, full), ratio * Math.max(0.7, Math.sqrt(SLOW / took)));
  return took < QUICK ? Math.min(full, ratio * 1.04) : ratio;
}
