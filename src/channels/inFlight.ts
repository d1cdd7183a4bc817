/** Work that has started and not yet ended, so that closing can wait for it. */
export class InFlight {
  readonly #running = new Set<Promise<unknown>>();

  async track<Result>(work: Promise<Result>): Promise<Result> {
    this.#running.add(work);
    try {
      return await work;
    } finally {
      this.#running.delete(work);
    }
  }

  /** Resolves when all of it has ended, successfully or not. */
  async ended(): Promise<void> {
    await Promise.allSettled(this.#running);
  }
}
