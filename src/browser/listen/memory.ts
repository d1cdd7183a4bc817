import { startTimeout } from './timeout.js';

/** `away`: no network, or a service that is down. `refused`: the service answered that it has no such sentence. */
export type Remembered = 'fetching' | 'here' | 'away' | 'refused';

/** A sentence may have to be spoken first. */
const patienceMs = 20_000;
/** What could not be had is asked for again no sooner. */
export const askAgainAfterMs = 4_000;

/** Sounds in the memory of the page: they are there when the network is not, also in a browser that keeps nothing. */
export class Memory {
  readonly #states = new Map<string, Remembered>();
  readonly #urls = new Map<string, string>();
  readonly #askedAtMs = new Map<string, number>();

  /** Where a sound is played from. */
  urlOf(address: string): string {
    return this.#urls.get(address) ?? address;
  }

  stateOf(address: string): Remembered | null {
    return this.#states.get(address) ?? null;
  }

  /** Fetches what is not here and not on its way. @returns whether anything changed */
  async fetch(addresses: readonly string[]): Promise<boolean> {
    const nowMs = performance.now();
    const isLongAgo = (address: string) =>
      nowMs - (this.#askedAtMs.get(address) ?? Number.NEGATIVE_INFINITY) > askAgainAfterMs;
    const missing = addresses.filter(
      (address) => ['away', null].includes(this.stateOf(address)) && isLongAgo(address),
    );
    for (const address of missing) {
      this.#askedAtMs.set(address, nowMs);
      // What is asked for again is still away until it is here.
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
