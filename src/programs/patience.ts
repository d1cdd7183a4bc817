/**
 * Watches that a program goes on: it is late when it has shown no sign of life for too long, or has taken too long
 * altogether. Only time in which it is the program's turn counts; while it waits for what it is fed with, it is not.
 */
export class Patience {
  readonly #silentMs: number;
  readonly #onLate: () => void;
  #leftMs: number;
  #sinceMs = 0;
  #silent: NodeJS.Timeout | undefined;
  #whole: NodeJS.Timeout | undefined;

  /**
   * @param times.silentMs how long it may be without a sign of life
   * @param times.wholeMs how long it may take altogether
   */
  constructor({ silentMs, wholeMs }: { silentMs: number; wholeMs: number }, onLate: () => void) {
    this.#silentMs = silentMs;
    this.#leftMs = wholeMs;
    this.#onLate = onLate;
  }

  /** From now on it is the program's turn. */
  begin(): void {
    if (this.#silent !== undefined) return;
    this.#sinceMs = performance.now();
    this.#silent = setTimeout(this.#onLate, this.#silentMs);
    this.#whole = setTimeout(this.#onLate, Math.max(0, this.#leftMs));
  }

  /** It has shown a sign of life. */
  beat(): void {
    this.#silent?.refresh();
  }

  /** It is not the program's turn any longer. */
  end(): void {
    if (this.#silent === undefined) return;
    this.#leftMs -= performance.now() - this.#sinceMs;
    clearTimeout(this.#silent);
    clearTimeout(this.#whole);
    this.#silent = undefined;
  }
}
