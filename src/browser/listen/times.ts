import type { PlannedPerson } from '../../listening/plan.js';

/** The clocks of the place where someone lives. */
export type Clocks = Pick<PlannedPerson, 'zone' | 'clocks'>;

/**
 * Formats days and times as people say them, always by the clocks of the person they concern. It uses the service's
 * offsets, and the phone's only where the service sent none.
 */
export class Times {
  readonly #language: string | undefined;
  readonly #hourCycle: Intl.DateTimeFormatOptions['hourCycle'];

  /**
   * A tag that this browser cannot read is ignored: some phones report `en-US@posix`, which is not a valid tag (BCP
   * 47).
   *
   * @param language the page's language
   * @param device the phone's language, which tells whether its owner reads 5 pm or 17:00
   */
  constructor(language: string, device: string) {
    this.#language = readable(language);
    const hours = new Intl.DateTimeFormat(readable(device), { hour: 'numeric' });
    this.#hourCycle = hours.resolvedOptions().hourCycle;
  }

  time(atMs: number, clocks: Clocks): string {
    return this.#format(atMs, clocks, { hour: 'numeric', minute: '2-digit', hourCycle: this.#hourCycle });
  }

  weekday(atMs: number, clocks: Clocks): string {
    return this.#format(atMs, clocks, { weekday: 'long' });
  }

  /** Returns the day, `YYYY-MM-DD`. */
  day(atMs: number, clocks: Clocks): string {
    // Swedish dates have the ISO 8601 format.
    return written('sv-SE', {}, atMs, clocks);
  }

  #format(atMs: number, clocks: Clocks, options: Intl.DateTimeFormatOptions): string {
    return written(this.#language, options, atMs, clocks);
  }
}

/** Returns the language tag, or undefined if this browser cannot read it; the browser then uses its default. */
function readable(tag: string): string | undefined {
  try {
    return Intl.getCanonicalLocales(tag)[0];
  } catch {
    return undefined;
  }
}

function written(
  language: string | undefined,
  options: Intl.DateTimeFormatOptions,
  atMs: number,
  { zone, clocks = [] }: Clocks,
): string {
  const [current] = clocks.filter(({ sinceMs }) => sinceMs === null || sinceMs <= atMs).slice(-1);
  if (current === undefined) return inZone(language, zone, options).format(atMs);
  return inZone(language, 'UTC', options).format(atMs + current.offsetSeconds * 1000);
}

/** A phone that does not know a newer zone name falls back to its own clock, which usually is the same. */
function inZone(
  language: string | undefined,
  zone: string,
  options: Intl.DateTimeFormatOptions,
): Intl.DateTimeFormat {
  try {
    return new Intl.DateTimeFormat(language, { ...options, timeZone: zone });
  } catch {
    return new Intl.DateTimeFormat(language, options);
  }
}
