import { type ClockChange, changesOfYears, readPosixZone, type YearRule } from './posixZone.js';

/** One zone's data in a release of the IANA data. */
export type ZoneTable = {
  /** Offset from UTC before the first change, in seconds. */
  firstOffsetSeconds: number;
  /** Changes since 1970 at the earliest, in order: instant and offset from UTC, both in seconds. */
  changes: readonly (readonly [atSeconds: number, offsetSeconds: number])[];
  /** The rule after the last change, in the form of a TZif footer (RFC 9636, section 3.3.1). */
  footer: string;
};

/** A zone by its table; values derived from the table are computed once. */
export class TabledZone {
  readonly #firstMs: number;
  readonly #changes: readonly ClockChange[];
  readonly #rule: YearRule | null;

  constructor({ firstOffsetSeconds, changes, footer }: ZoneTable) {
    this.#firstMs = firstOffsetSeconds * 1_000;
    this.#changes = changes.map(([at, offset]) => ({ atMs: at * 1_000, offsetMs: offset * 1_000 }));
    this.#rule = footer === '' ? null : readPosixZone(footer);
  }

  /** Returns how far clocks are ahead of UTC at an instant, in milliseconds. */
  offsetMsAt(atMs: number): number {
    const last = this.#changes.at(-1);
    if (this.#rule !== null && (last === undefined || atMs >= last.atMs)) {
      const held = last?.offsetMs ?? this.#rule.standardMs;
      return this.#byRule(this.#rule, atMs, atMs).findLast((each) => each.atMs <= atMs)?.offsetMs ?? held;
    }
    return this.#listedBefore(atMs)?.offsetMs ?? this.#firstMs;
  }

  /** Returns the changes after one instant and up to another, inclusive. */
  changesBetween(afterMs: number, untilMs: number): ClockChange[] {
    const rule = this.#rule;
    const ruled = rule === null ? [] : this.#byRule(rule, afterMs, untilMs);
    const within = [...this.#changes, ...ruled].filter(({ atMs }) => atMs > afterMs && atMs <= untilMs);
    let heldMs = this.offsetMsAt(afterMs);
    return within.filter(({ offsetMs }) => {
      const isChange = offsetMs !== heldMs;
      heldMs = offsetMs;
      return isChange;
    });
  }

  /**
   * Returns the changes that the rule makes, from a year before one instant to a year after the other, later than all
   * listed changes.
   */
  #byRule(rule: YearRule, fromMs: number, untilMs: number): ClockChange[] {
    const lastMs = this.#changes.at(-1)?.atMs ?? Number.NEGATIVE_INFINITY;
    if (untilMs < lastMs) return [];
    const years = [new Date(fromMs).getUTCFullYear() - 1, new Date(untilMs).getUTCFullYear() + 1] as const;
    return changesOfYears(rule, ...years).filter(({ atMs }) => atMs > lastMs);
  }

  #listedBefore(atMs: number): ClockChange | undefined {
    let [low, high] = [0, this.#changes.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if ((this.#changes[middle]?.atMs ?? Number.POSITIVE_INFINITY) <= atMs) low = middle + 1;
      else high = middle;
    }
    return this.#changes[low - 1];
  }
}
