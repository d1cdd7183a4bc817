/**
 * Watches that a program makes progress. It is late when it has shown no sign of life for too long, or has taken too
 * long in all. Only time in which the program should be working counts, not time in which it waits for its input.
 */
export class Patience {
  readonly #silentMs: number;
  readonly #onLate: () => void;
  #leftMs: number;
  #sinceMs = 0;
  #silent: NodeJS.Timeout | undefined;
  #whole: NodeJS.Timeout | undefined;

  /**
   * @param times.silentMs the longest time without a sign of life
   * @param times.wholeMs the longest time in all
   */
  constructor({ silentMs, wholeMs }: { silentMs: number; wholeMs: number }, onLate: () => void) {
    this.#silentMs = silentMs;
    this.#leftMs = wholeMs;
    this.#onLate = onLate;
  }

  /** Starts counting: the program should be working now. */
  begin(): void {
    if (this.#silent !== undefined) return;
    this.#sinceMs = performance.now();
    this.#silent = setTimeout(this.#onLate, this.#silentMs);
    this.#whole = setTimeout(this.#onLate, Math.max(0, this.#leftMs));
  }

  /** Records a sign of life. */
  beat(): void {
    this.#silent?.refresh();
  }

  /** Stops counting: the program is not expected to work now. */
  end(): void {
    if (this.#silent === undefined) return;
    this.#leftMs -= performance.now() - this.#sinceMs;
    clearTimeout(this.#silent);
    clearTimeout(this.#whole);
    this.#silent = undefined;
  }
}
