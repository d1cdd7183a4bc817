import type { PromptKey } from '../../../listening/plan.js';
import { promptAddress } from './needed.js';

/** `cut`: something else was said, or it was hushed. `failed`: there was no sound. */
export type Spoken = 'ended' | 'cut' | 'failed';

/** A sentence that has not begun by then is given up. */
const patienceMs = 6_000;

/** Says single sentences, one at a time. */
export class Prompts {
  readonly #sound: HTMLAudioElement;
  #finish: ((how: Spoken) => void) | null = null;

  constructor(sound: HTMLAudioElement) {
    this.#sound = sound;
    sound.addEventListener('ended', () => this.#finish?.('ended'));
    sound.addEventListener('error', () => this.#finish?.('failed'));
    // A headset or a call may stop it; whoever waits for its end must not wait for ever.
    sound.addEventListener('pause', () => {
      if (sound.paused && !sound.ended) this.#finish?.('cut');
    });
  }

  /** Fetches the beginning of a sentence that will be said soon. */
  prepare(personId: string, key: PromptKey): void {
    const address = promptAddress(personId, key);
    if (this.#finish !== null || this.#sound.getAttribute('src') === address) return;
    this.#sound.preload = 'auto';
    this.#sound.src = address;
  }

  /** Says a sentence of somebody's voice, instead of any other; resolves when it is over, however it ends. */
  say(personId: string, key: PromptKey): Promise<Spoken> {
    this.hush();
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
      const address = promptAddress(personId, key);
      const isHere = this.#sound.getAttribute('src') === address && this.#sound.error === null;
      if (!isHere) this.#sound.src = address;
      else if (this.#sound.currentTime > 0) this.#sound.currentTime = 0;
      this.#sound.play().catch((error: unknown) => {
        // Aborted by the next sentence, which has told already.
        if (!(error instanceof DOMException && error.name === 'AbortError')) finish('failed');
      });
    });
  }

  hush(): void {
    this.#finish?.('cut');
    this.#sound.pause();
  }
}
