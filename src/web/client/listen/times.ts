/** Days and times as people say them, always in the zone of the person they are about. */
export class Times {
  readonly #language: string;
  readonly #hourCycle: Intl.DateTimeFormatOptions['hourCycle'];

  /**
   * @param language of the page
   * @param device language of the phone, which knows whether its owner reads 5 pm or 17:00
   */
  constructor(language: string, device: string) {
    this.#language = language;
    this.#hourCycle = new Intl.DateTimeFormat(device, { hour: 'numeric' }).resolvedOptions().hourCycle;
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
    return new Intl.DateTimeFormat('sv-SE', { timeZone: zone }).format(atMs);
  }

  #format(atMs: number, zone: string, options: Intl.DateTimeFormatOptions): string {
    return new Intl.DateTimeFormat(this.#language, { ...options, timeZone: zone }).format(atMs);
  }
}
