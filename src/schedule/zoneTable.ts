import { type ClockChange, changesOfYears, readPosixZone, type YearRule } from './posixZone.js';

/** What a release of the IANA data says about one zone. */
export type ZoneTable = {
  /** How far clocks are ahead of UTC before the first change, in seconds. */
  firstOffsetSeconds: number;
  /** Since 1970 at the earliest, in their order: instant and offset, both in seconds. */
  changes: readonly (readonly [atSeconds: number, offsetSeconds: number])[];
  /** How it goes on after the last of them, as TZif files end (RFC 9636, section 3.3.1). */
  footer: string;
};

/** A zone by its table, with what follows from the table worked out once. */
export class TabledZone {
  readonly #firstMs: number;
  readonly #changes: readonly ClockChange[];
  readonly #rule: YearRule | null;

  constructor({ firstOffsetSeconds, changes, footer }: ZoneTable) {
    this.#firstMs = firstOffsetSeconds * 1_000;
    this.#changes = changes.map(([at, offset]) => ({ atMs: at * 1_000, offsetMs: offset * 1_000 }));
    this.#rule = footer === '' ? null : readPosixZone(footer);
  }

  /** How far clocks are ahead of UTC at an instant, in milliseconds. */
  offsetMsAt(atMs: number): number {
    const last = this.#changes.at(-1);
    if (this.#rule !== null && (last === undefined || atMs >= last.atMs)) {
      const held = last?.offsetMs ?? this.#rule.standardMs;
      return this.#byRule(this.#rule, atMs, atMs).findLast((each) => each.atMs <= atMs)?.offsetMs ?? held;
    }
    return this.#listedBefore(atMs)?.offsetMs ?? this.#firstMs;
  }

  /** The changes after one instant and up to another. */
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

  /** What the rule gives from a year before one instant to a year after another, after all that is listed. */
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
