import type { PromptKey } from '../../listening/plan.js';
import { askAgainAfterMs, Memory, type Remembered } from './memory.js';
import { promptAddress } from './prefetchList.js';

/** How a sentence ended. `cut`: another one was spoken, or it was silenced. `failed`: there was no sound. */
export type Spoken = 'ended' | 'cut' | 'failed';

const faults = ['no-sound', 'no-network', 'program-changed', 'page-ended'] as const;
/** The faults of the sound. */
export type Fault = (typeof faults)[number];

/** Returns whether a prompt announces a fault. */
export function isFault(key: PromptKey): key is Fault {
  return faults.some((fault) => fault === key);
}

/** Loaded before anything starts, because when one of these is needed there may be no network. */
const neededFirst: readonly PromptKey[] = [...faults, 'one-moment'];
/** Loaded soon after: sentences that keep a listener who is lying down safe. */
const neededNext: readonly PromptKey[] = [
  'stop-begin',
  'stop-now',
  'warning-unsent',
  'paused',
  'go-on-before',
  'go-on-exercise',
  'sit-up',
];

/** A sentence that has not started by then is abandoned. */
const patienceMs = 6_000;

type Saying = { key: PromptKey; over: Promise<Spoken> };

/** Speaks single sentences, one at a time. It dispatches `change` when more of them are in memory. */
export class Prompts extends EventTarget {
  readonly #sound: HTMLAudioElement;
  readonly #onUnheard: (personId: string, address: string) => void;
  readonly #memory = new Memory();
  #finish: ((how: Spoken) => void) | null = null;
  #saying: Saying | null = null;

  /**
   * @param onUnheard called for a sentence that could not be played, except for those that announce a fault
   */
  constructor(sound: HTMLAudioElement, onUnheard: (personId: string, address: string) => void) {
    super();
    this.#sound = sound;
    this.#onUnheard = onUnheard;
    sound.addEventListener('ended', () => this.#finish?.('ended'));
    sound.addEventListener('error', () => this.#finish?.('failed'));
    // A headset or a call may stop the sound, and the caller must not wait for its end forever.
    sound.addEventListener('pause', () => {
      if (sound.paused && !sound.ended) this.#finish?.('cut');
    });
  }

  /** The sentence being spoken now. */
  get saying(): Saying | null {
    return this.#saying;
  }

  /** Returns whether a session may start: the sentences for faults are in memory, or the service has none. */
  readyFor(personId: string): Remembered {
    const states = neededFirst.map((key) => this.#memory.stateOf(promptAddress(personId, key)));
    if (states.includes('away')) return 'away';
    if (states.includes(null) || states.includes('fetching')) return 'fetching';
    return states.includes('refused') ? 'refused' : 'here';
  }

  /** Loads the sentences that may be needed without a network. */
  async remember(personId: string): Promise<void> {
    const addresses = (keys: readonly PromptKey[]) => keys.map((key) => promptAddress(personId, key));
    const tellChange = () => this.dispatchEvent(new Event('change'));
    if (!(await this.#memory.fetch(addresses(neededFirst)))) return;
    tellChange();
    if (this.readyFor(personId) === 'away') return void setTimeout(tellChange, 2 * askAgainAfterMs);
    // One by one, because they share the network with the sound that is heard first.
    for (const address of addresses(neededNext)) await this.#memory.fetch([address]);
  }

  /** Starts to load a sentence that will be spoken soon. */
  prepare(personId: string, key: PromptKey): void {
    const address = this.#memory.urlOf(promptAddress(personId, key));
    if (this.#finish !== null || this.#sound.getAttribute('src') === address) return;
    this.#sound.preload = 'auto';
    this.#sound.src = address;
  }

  /** Speaks a sentence in someone's voice, and cuts off any other; resolves when it is over, however it ends. */
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
        // Aborted by the next sentence, which has already settled this one.
        if (!(error instanceof DOMException && error.name === 'AbortError')) finish('failed');
      });
    });
  }
}
