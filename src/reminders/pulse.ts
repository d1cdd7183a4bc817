/** The heartbeats of work that must never stop. */
export class Pulse {
  readonly #steadyMs: () => number;
  readonly #watched = new Map<string, { stillAfterMs: number; lastMs: number }>();

  /** @param steadyMs a clock that runs evenly, even when the wall clock is set */
  constructor(steadyMs: () => number) {
    this.#steadyMs = steadyMs;
  }

  watch(what: string, stillAfterMs: number): void {
    this.#watched.set(what, { stillAfterMs, lastMs: this.#steadyMs() });
  }

  /** Reports progress. Work that is not monitored may call it too. */
  beat(what: string): void {
    const watched = this.#watched.get(what);
    if (watched !== undefined) watched.lastMs = this.#steadyMs();
  }

  /** The work without a heartbeat for too long, in the order of the names. */
  still(): string[] {
    const nowMs = this.#steadyMs();
    return [...this.#watched]
      .filter(([, { stillAfterMs, lastMs }]) => nowMs - lastMs > stillAfterMs)
      .map(([what]) => what);
  }
}
