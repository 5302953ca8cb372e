// Pictures one after another while something goes on, however often they are asked for.

export class Frames {
  /** @param {(stamp: number) => unknown} show shows one picture; what it returns is whether more come */
  constructor(show) {
    this.show = show;
    /** @type {number | null} */
    this.next = null;
  }

  /** Asks for a picture; one that is asked for already is enough. */
  ask() {
    this.next ??= requestAnimationFrame(() => this.tick());
  }

  tick() {
    this.next = null;
    if (this.show(performance.now())) this.ask();
  }

  stop() {
    if (this.next !== null) cancelAnimationFrame(this.next);
    this.next = null;
  }
}
