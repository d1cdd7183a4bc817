import { refused } from '../refusals.js';

/** Limits how much each caller does at the same time, so that no one keeps all others waiting. */
export class ConcurrencyLimit {
  readonly #most: number;
  readonly #running = new Map<string, number>();

  constructor(most: number) {
    this.#most = most;
  }

  /**
   * Does the work unless the caller is already at the limit.
   *
   * @param who identifies the caller
   * @throws Refused at the limit; whatever the work throws
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
