/** Days and times as people say them, always in the zone of the person they are about. */
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

  time(atMs: number, zone: string): string {
    return this.#format(atMs, zone, { hour: 'numeric', minute: '2-digit', hourCycle: this.#hourCycle });
  }

  weekday(atMs: number, zone: string): string {
    return this.#format(atMs, zone, { weekday: 'long' });
  }

  /** The day in a zone, `YYYY-MM-DD`. */
  day(atMs: number, zone: string): string {
    // Sweden writes its dates as ISO 8601 does.
    return inZone('sv-SE', zone, {}).format(atMs);
  }

  #format(atMs: number, zone: string, options: Intl.DateTimeFormatOptions): string {
    return inZone(this.#language, zone, options).format(atMs);
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
