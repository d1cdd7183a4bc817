import { refused } from '../refusals.js';

/** Lets each of many do only so much at the same time, so that nobody makes all others wait. */
export class ConcurrencyLimit {
  readonly #most: number;
  readonly #running = new Map<string, number>();

  constructor(most: number) {
    this.#most = most;
  }

  /**
   * Does the work, unless as much is under way already for whoever asks.
   *
   * @param who names whoever asks
   * @throws Refused when there is too much; whatever the work throws
   */
  async run<Result>(who: string, work: () => Promise<Result>): Promise<Result> {
    const running = this.#running.get(who) ?? 0;
    if (running >= this.#most) throw refused('voice-busy');
    this.#running.set(who, running + 1);
    try {
      return await work();
    } finally {
      const left = (this.#running.get(who) ?? 1) - 1;
      if (left === 0) this.#running.delete(who);
      else this.#running.set(who, left);
    }
  }
}
