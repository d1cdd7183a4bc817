import type { PromptKey } from '../../listening/plan.js';
import { askAgainAfterMs, Memory, type Remembered } from './memory.js';
import { promptAddress } from './prefetchList.js';

/** `cut`: something else was said, or it was hushed. `failed`: there was no sound. */
export type Spoken = 'ended' | 'cut' | 'failed';

const faults = ['no-sound', 'no-network', 'program-changed', 'page-ended'] as const;
/** What can go wrong with the sound. */
export type Fault = (typeof faults)[number];

export function isFault(key: PromptKey): key is Fault {
  return faults.some((fault) => fault === key);
}

/** In memory before anything begins: when one of these is needed there may be no network to fetch it. */
const neededFirst: readonly PromptKey[] = [...faults, 'one-moment'];
/** In memory soon after: what keeps someone safe who lies there. */
const neededNext: readonly PromptKey[] = [
  'stop-begin',
  'stop-now',
  'warning-unsent',
  'paused',
  'go-on-before',
  'go-on-exercise',
  'sit-up',
];

/** A sentence that has not begun by then is given up. */
const patienceMs = 6_000;

type Saying = { key: PromptKey; over: Promise<Spoken> };

/** Says single sentences, one at a time. It says `change` when more of them are in memory. */
export class Prompts extends EventTarget {
  readonly #sound: HTMLAudioElement;
  readonly #onUnheard: (personId: string, address: string) => void;
  readonly #memory = new Memory();
  #finish: ((how: Spoken) => void) | null = null;
  #saying: Saying | null = null;

  /** @param onUnheard told of a sentence that could not be heard, but for those that say so */
  constructor(sound: HTMLAudioElement, onUnheard: (personId: string, address: string) => void) {
    super();
    this.#sound = sound;
    this.#onUnheard = onUnheard;
    sound.addEventListener('ended', () => this.#finish?.('ended'));
    sound.addEventListener('error', () => this.#finish?.('failed'));
    // A headset or a call may stop it; whoever waits for its end must not wait for ever.
    sound.addEventListener('pause', () => {
      if (sound.paused && !sound.ended) this.#finish?.('cut');
    });
  }

  /** What is being said now. */
  get saying(): Saying | null {
    return this.#saying;
  }

  /** Whether a session may begin: the sentences for a fault are in memory, or the service has none. */
  readyFor(personId: string): Remembered {
    const states = neededFirst.map((key) => this.#memory.stateOf(promptAddress(personId, key)));
    if (states.includes('away')) return 'away';
    if (states.includes(null) || states.includes('fetching')) return 'fetching';
    return states.includes('refused') ? 'refused' : 'here';
  }

  /** Fetches into memory what may be needed when there is no network. */
  async remember(personId: string): Promise<void> {
    const addresses = (keys: readonly PromptKey[]) => keys.map((key) => promptAddress(personId, key));
    const tellChange = () => this.dispatchEvent(new Event('change'));
    if (!(await this.#memory.fetch(addresses(neededFirst)))) return;
    tellChange();
    if (this.readyFor(personId) === 'away') return void setTimeout(tellChange, 2 * askAgainAfterMs);
    // One by one: they share the network with what is heard first.
    for (const address of addresses(neededNext)) await this.#memory.fetch([address]);
  }

  /** Fetches the beginning of a sentence that will be said soon. */
  prepare(personId: string, key: PromptKey): void {
    const address = this.#memory.urlOf(promptAddress(personId, key));
    if (this.#finish !== null || this.#sound.getAttribute('src') === address) return;
    this.#sound.preload = 'auto';
    this.#sound.src = address;
  }

  /** Says a sentence of someone's voice, instead of any other; resolves when it is over, however it ends. */
  say(personId: string, key: PromptKey): Promise<Spoken> {
    this.hush();
    const address = promptAddress(personId, key);
    const over = this.#play(this.#memory.urlOf(address), key);
    const saying = { key, over };
    this.#saying = saying;
    over.then((how) => {
      if (this.#saying === saying) this.#saying = null;
      if (how === 'failed' && !isFault(key)) this.#onUnheard(personId, address);
    });
    return over;
  }

  hush(): void {
    this.#finish?.('cut');
    this.#sound.pause();
  }

  #play(address: string, key: PromptKey): Promise<Spoken> {
    return new Promise((resolve) => {
      const finish = (how: Spoken) => {
        if (this.#finish !== finish) return;
        this.#finish = null;
        clearTimeout(timer);
        if (how === 'failed') this.#sound.pause();
        resolve(how);
      };
      const timer = setTimeout(() => finish('failed'), patienceMs);
      this.#finish = finish;
      this.#sound.onplaying = () => clearTimeout(timer);
      this.#sound.dataset.says = key;
      const isHere = this.#sound.getAttribute('src') === address && this.#sound.error === null;
      if (!isHere) this.#sound.src = address;
      else if (this.#sound.currentTime > 0) this.#sound.currentTime = 0;
      this.#sound.play().catch((error: unknown) => {
        // Aborted by the next sentence, which has told already.
        if (!(error instanceof DOMException && error.name === 'AbortError')) finish('failed');
      });
    });
  }
}
