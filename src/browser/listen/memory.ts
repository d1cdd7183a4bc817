import { startTimeout } from './timeout.js';

/**
 * State of a sound. `away`: no network, or the service is down. `refused`: the service answered that it has no such
 * sentence.
 */
export type Remembered = 'fetching' | 'here' | 'away' | 'refused';

/** How long to wait for a sentence, which may have to be spoken first. */
const patienceMs = 20_000;
/** A sound that could not be fetched is requested again only after this time. */
export const askAgainAfterMs = 4_000;

/** Sounds in the page's memory. They are available without a network, even in a browser that stores nothing. */
export class Memory {
  readonly #states = new Map<string, Remembered>();
  readonly #urls = new Map<string, string>();
  readonly #askedAtMs = new Map<string, number>();

  /** Returns the URL to play a sound from. */
  urlOf(address: string): string {
    return this.#urls.get(address) ?? address;
  }

  stateOf(address: string): Remembered | null {
    return this.#states.get(address) ?? null;
  }

  /** Fetches sounds that are neither here nor on their way. @returns whether anything changed */
  async fetch(addresses: readonly string[]): Promise<boolean> {
    const nowMs = performance.now();
    const isLongAgo = (address: string) =>
      nowMs - (this.#askedAtMs.get(address) ?? Number.NEGATIVE_INFINITY) > askAgainAfterMs;
    const missing = addresses.filter(
      (address) => ['away', null].includes(this.stateOf(address)) && isLongAgo(address),
    );
    for (const address of missing) {
      this.#askedAtMs.set(address, nowMs);
      // A sound that is requested again stays `away` until it arrives.
      if (this.stateOf(address) === null) this.#states.set(address, 'fetching');
    }
    await Promise.all(
      missing.map(async (address) => {
        this.#states.set(address, await this.#fetchOne(address));
      }),
    );
    return missing.length > 0;
  }

  async #fetchOne(address: string): Promise<Remembered> {
    const { signal, end } = startTimeout(patienceMs);
    try {
      const response = await fetch(address, { signal });
      if (!response.ok) return response.status >= 500 ? 'away' : 'refused';
      this.#urls.set(address, URL.createObjectURL(await response.blob()));
      return 'here';
    } catch {
      return 'away';
    } finally {
      end();
    }
  }
}
