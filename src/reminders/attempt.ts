import { setMaxListeners } from 'node:events';

export type AttemptTimes = {
  /** A channel that has not handed a message over by then is told to give up. */
  handingMs: number;
  /** An answer that takes longer is waited for beside other work. */
  slowAfterMs: number;
};

/** When others want an attempt to end. */
export type AttemptEnds = {
  /** What is not handed over yet is given up. */
  stop: AbortSignal;
  /** What waits for its answer is given up too, and it stays open whether it arrived. */
  giveUp: AbortSignal;
};

/** One hand-over of one message: tells its channel when to give up, and others when only its answer is waited for. */
export class Attempt {
  /** Resolves when the message is handed over and its answer is slow; otherwise never. */
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
      // Many attempts share them. Each takes its listener away again, so that more than ten are no leak.
      setMaxListeners(0, signal);
      signal.addEventListener('abort', this.#abort, { once: true });
      if (signal.aborted) this.#abort();
    }
  }

  get signal(): AbortSignal {
    return this.#controller.signal;
  }

  /** From now on to give up would leave open whether it arrives: the channel itself knows how long to wait. */
  readonly handedOver = (): void => {
    clearTimeout(this.#guard);
    this.#ends.stop.removeEventListener('abort', this.#abort);
    this.#slowTimer = setTimeout(this.#becomeSlow, this.#slowAfterMs);
  };

  /** Leaves nothing behind. */
  end(): void {
    clearTimeout(this.#guard);
    clearTimeout(this.#slowTimer);
    for (const signal of [this.#ends.stop, this.#ends.giveUp])
      signal.removeEventListener('abort', this.#abort);
  }
}
