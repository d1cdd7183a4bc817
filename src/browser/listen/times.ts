import type { PlannedPerson } from '../../listening/plan.js';

/** By which clocks someone lives. */
export type Clocks = Pick<PlannedPerson, 'zone' | 'clocks'>;

/**
 * Days and times as people say them, always by the clocks of the person they are about: as the service reckons them,
 * and only where it did not say so as the phone does.
 */
export class Times {
  readonly #language: string | undefined;
  readonly #hourCycle: Intl.DateTimeFormatOptions['hourCycle'];

  /**
   * Neither may be a tag that this browser cannot read: some phones name theirs `en-US@posix`, which is none (BCP 47).
   *
   * @param language of the page
   * @param device language of the phone, which knows whether its owner reads 5 pm or 17:00
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

  /** The day, `YYYY-MM-DD`. */
  day(atMs: number, clocks: Clocks): string {
    // Sweden writes its dates as ISO 8601 does.
    return written('sv-SE', {}, atMs, clocks);
  }

  #format(atMs: number, clocks: Clocks, options: Intl.DateTimeFormatOptions): string {
    return written(this.#language, options, atMs, clocks);
  }
}

/** A language tag, or none where this browser cannot read it: then it writes as it is used to. */
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

/** A phone that is older than the name of a zone shows its own clock, which is most often the same. */
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
