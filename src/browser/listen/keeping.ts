import { dayMs } from '../../time/units.js';

/** `none`: this browser keeps nothing for a page, as over plain http. */
export type KeptState = 'none' | 'fetching' | 'kept' | 'full' | 'away';

/** Sentences may be reworded, but not often. */
const promptsLastMs = 7 * dayMs;

/** Fetches ahead what is needed, one after the other, and gives up what no longer is. */
export class Keeping {
  readonly #cacheName: string;
  readonly #onState: (state: KeptState) => void;
  /** Null until a plan says; without a network none may, and then nothing is given up. */
  #wanted: readonly string[] | null = null;
  /** What was listened to last: an easier session, which no plan wants ahead, can so go on without a network. */
  #listenedTo: readonly string[] = [];
  #isResting = false;
  #run = new AbortController();

  constructor(cacheName: string, onState: (state: KeptState) => void) {
    this.#cacheName = cacheName;
    this.#onState = onState;
  }

  /** @param wanted addresses; everything else is given up once these are here */
  want(wanted: readonly string[]): void {
    this.#wanted = wanted;
    this.goOn();
  }

  /** Leaves the network to what is being listened to. */
  rest(): void {
    this.#isResting = true;
    this.#run.abort();
  }

  /** @param first addresses of what is wanted before all else: what is being listened to */
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
    // `reload` also tells the service worker not to answer with what is here already.
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
