import { dayMs } from '../../time/units.js';

/** State of the offline copy. `none`: this browser stores nothing for a page, for example over plain http. */
export type KeptState = 'none' | 'fetching' | 'kept' | 'full' | 'away';

/** Stored sentences are fetched again after this time, because they may have been reworded. */
const promptsLastMs = 7 * dayMs;

/** Prefetches the files that are needed, one after the other, and removes those that are no longer needed. */
export class Keeping {
  readonly #cacheName: string;
  readonly #onState: (state: KeptState) => void;
  /** Null until there is a plan. Without a network there may be none, and then nothing is removed. */
  #wanted: readonly string[] | null = null;
  /**
   * Files of the last session played. An easier session is not in the prefetch list, so this lets it resume without a
   * network.
   */
  #listenedTo: readonly string[] = [];
  #isResting = false;
  #run = new AbortController();

  constructor(cacheName: string, onState: (state: KeptState) => void) {
    this.#cacheName = cacheName;
    this.#onState = onState;
  }

  /**
   * Sets the files to prefetch.
   *
   * @param wanted addresses; all other files are removed once these are stored
   */
  want(wanted: readonly string[]): void {
    this.#wanted = wanted;
    this.goOn();
  }

  /** Stops prefetching, so that the session being played has the network to itself. */
  rest(): void {
    this.#isResting = true;
    this.#run.abort();
  }

  /**
   * Resumes prefetching.
   *
   * @param first addresses to fetch before all others: those of the session being played
   */
  goOn(...first: readonly string[]): void {
    this.#isResting = false;
    this.#run.abort();
    this.#run = new AbortController();
    if (first.length > 0) this.#listenedTo = first;
    this.#keep([...first, ...(this.#wanted ?? [])], this.#run.signal);
  }

  async #keep(wanted: readonly string[], signal: AbortSignal): Promise<void> {
    if (!('caches' in window)) return this.#onState('none');
    this.#onState('fetching');
    let state: KeptState = 'kept';
    try {
      const cache = await caches.open(this.#cacheName);
      for (const address of wanted) {
        if (signal.aborted) return;
        const outcome = await keepOne(cache, address, signal);
        if (outcome !== 'kept' && state !== 'full') state = outcome;
      }
      if (signal.aborted) return;
      if (state === 'kept' && this.#wanted !== null)
        await giveUpOthers(cache, [...wanted, ...this.#listenedTo]);
    } catch (error) {
      state = isFull(error) ? 'full' : 'none';
    }
    if (!this.#isResting && !signal.aborted) this.#onState(state);
  }
}

async function keepOne(
  cache: Cache,
  address: string,
  signal: AbortSignal,
): Promise<'kept' | 'full' | 'away'> {
  const found = await cache.match(address);
  if (found !== undefined && !isStale(address, found)) return 'kept';
  try {
    // `reload` also tells the service worker not to answer from its cache.
    const response = await fetch(address, { cache: 'reload', signal });
    if (!response.ok) return found === undefined ? 'away' : 'kept';
    await cache.put(address, response);
    return 'kept';
  } catch (error) {
    if (isFull(error)) return 'full';
    return found === undefined ? 'away' : 'kept';
  }
}

function isStale(address: string, { headers }: Response): boolean {
  if (!address.startsWith('prompts/')) return false;
  return Date.now() - Date.parse(headers.get('date') ?? '') > promptsLastMs;
}

async function giveUpOthers(cache: Cache, wanted: readonly string[]): Promise<void> {
  const keptAddresses = new Set(wanted.map((address) => new URL(address, location.href).href));
  for (const request of await cache.keys()) if (!keptAddresses.has(request.url)) await cache.delete(request);
}

function isFull(error: unknown): boolean {
  return error instanceof DOMException && error.name === 'QuotaExceededError';
}
