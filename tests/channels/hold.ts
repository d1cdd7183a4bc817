/** Work of a server that is held back until the test lets it go on; the test can wait for the first to be held. */
export class Hold {
  #held: (() => void)[] = [];
  #waiting: (() => void)[] = [];

  /** Resolves once something is held back. */
  held(): Promise<void> {
    return this.#held.length > 0 ? Promise.resolve() : new Promise((resolve) => this.#waiting.push(resolve));
  }

  keep(goOn: () => void): void {
    this.#held.push(goOn);
    for (const resolve of this.#waiting.splice(0)) resolve();
  }

  release(): void {
    for (const goOn of this.#held.splice(0)) goOn();
  }
}
