/** Work of a server that is held back until the test lets it go on; the test can wait for some to be held. */
export class Hold {
  #held: (() => void)[] = [];
  #waiting: { count: number; resolve: () => void }[] = [];

  /** Resolves once so many are held back. */
  held(count = 1): Promise<void> {
    if (this.#held.length >= count) return Promise.resolve();
    return new Promise((resolve) => this.#waiting.push({ count, resolve }));
  }

  keep(goOn: () => void): void {
    this.#held.push(goOn);
    const ready = this.#waiting.filter(({ count }) => this.#held.length >= count);
    this.#waiting = this.#waiting.filter((each) => !ready.includes(each));
    for (const { resolve } of ready) resolve();
  }

  release(): void {
    for (const goOn of this.#held.splice(0)) goOn();
  }
}
