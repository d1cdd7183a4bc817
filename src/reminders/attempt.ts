import { setMaxListeners } from 'node:events';

export type AttemptTimes = {
  /** A channel that has not handed over a message by then has to give up. */
  handingMs: number;
  /** A slower response is awaited while other work goes on. */
  slowAfterMs: number;
};

/** When an attempt has to end. */
export type AttemptEnds = {
  /** What has not been handed over yet is given up. */
  stop: AbortSignal;
  /** What is waiting for its response is given up too, leaving open whether it arrived. */
  giveUp: AbortSignal;
};

/**
 * One attempt to hand over one message: tells its channel when to give up, and others when only the response is
 * pending.
 */
export class Attempt {
  /** Resolves when the message has been handed over and the response is slow; otherwise never. */
  readonly slow: Promise<void>;
  readonly #controller = new AbortController();
  readonly #ends: AttemptEnds;
  readonly #abort = () => this.#controller.abort();
  readonly #guard: NodeJS.Timeout;
  readonly #slowAfterMs: number;
  #becomeSlow: () => void = () => undefined;
  #slowTimer: NodeJS.Timeout | undefined;

  constructor(ends: AttemptEnds, { handingMs, slowAfterMs }: AttemptTimes) {
    this.#ends = ends;
    this.#slowAfterMs = slowAfterMs;
    this.slow = new Promise((resolve) => {
      this.#becomeSlow = () => resolve();
    });
    this.#guard = setTimeout(this.#abort, handingMs);
    for (const signal of [ends.stop, ends.giveUp]) {
      // Shared by many attempts. Each removes its listener again, so more than ten are not a leak.
      setMaxListeners(0, signal);
      signal.addEventListener('abort', this.#abort, { once: true });
      if (signal.aborted) this.#abort();
    }
  }

  get signal(): AbortSignal {
    return this.#controller.signal;
  }

  /** From now on, giving up would leave open whether it arrives: the channel itself knows how long to wait. */
  readonly handedOver = (): void => {
    clearTimeout(this.#guard);
    this.#ends.stop.removeEventListener('abort', this.#abort);
    this.#slowTimer = setTimeout(this.#becomeSlow, this.#slowAfterMs);
  };

  /** Removes all listeners. */
  end(): void {
    clearTimeout(this.#guard);
    clearTimeout(this.#slowTimer);
    for (const signal of [this.#ends.stop, this.#ends.giveUp])
      signal.removeEventListener('abort', this.#abort);
  }
}
