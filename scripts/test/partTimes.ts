/** How long the parts of a run take, in the order in which they end. */
export class PartTimes {
  readonly #parts: { title: string; ms: number }[] = [];
  readonly #startedAt: number;

  /** @param now milliseconds of any clock that only goes on */
  constructor(readonly now: () => number = () => performance.now()) {
    this.#startedAt = now();
  }

  /** Gives what the work gives, and notes how long it was waited for, also where it fails. */
  async take<Result>(title: string, work: Promise<Result>): Promise<Result> {
    const startedAt = this.now();
    try {
      return await work;
    } finally {
      this.#parts.push({ title, ms: this.now() - startedAt });
    }
  }

  /** A line for each part, and one for the whole. Parts that ran beside each other add up to more than that. */
  lines(): string[] {
    const whole = { title: 'All of it', ms: this.now() - this.#startedAt };
    const rows = [...this.#parts, whole].map(({ title, ms }) => ({ title, length: lengthOf(ms) }));
    const width = Math.max(...rows.map(({ title }) => title.length));
    return rows.map(({ title, length }) => `${title.padEnd(width)}  ${length}`);
  }
}

/** Minutes and seconds, such as `4 min 05 s`. */
function lengthOf(ms: number): string {
  const seconds = Math.round(ms / 1000);
  return `${String(Math.floor(seconds / 60)).padStart(2)} min ${String(seconds % 60).padStart(2, '0')} s`;
}
