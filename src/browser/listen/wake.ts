import type { Shelf } from './shelf.js';

const shelfName = 'screen-may-sleep';

/**
 * Keeps the screen on while a touch on it is needed. Where the phone refuses, everything goes on without: the sound
 * plays with a dark screen too.
 */
export class Wake {
  readonly #shelf: Shelf;
  #isWanted = false;
  #lock: WakeLockSentinel | null = null;
  #isRefused = false;

  constructor(shelf: Shelf) {
    this.#shelf = shelf;
    document.addEventListener('visibilitychange', () => this.#settle());
  }

  /** The listener lets the screen go dark; kept on this device. */
  get maySleep(): boolean {
    return this.#shelf.read<boolean>(shelfName) ?? false;
  }

  set maySleep(may: boolean) {
    this.#shelf.write(shelfName, may);
    this.#settle();
  }

  /** Whether the screen may go dark although it is wanted: the phone refused or does not know how. */
  get isRefused(): boolean {
    return this.#isRefused;
  }

  /** @param evenSo keeps it on even where the listener lets it sleep: beside a bed it has to be seen */
  want(isWanted: boolean, evenSo = false): Promise<void> {
    this.#isWanted = isWanted && (evenSo || !this.maySleep);
    return this.#settle();
  }

  async #settle(): Promise<void> {
    if (!this.#isWanted) {
      const lock = this.#lock;
      this.#lock = null;
      return lock?.release();
    }
    if (this.#lock !== null || document.visibilityState !== 'visible') return;
    try {
      const lock = await navigator.wakeLock.request('screen');
      this.#isRefused = false;
      this.#lock = lock;
      // The phone takes it back when the page goes out of sight.
      lock.addEventListener('release', () => {
        if (this.#lock === lock) this.#lock = null;
      });
      if (!this.#isWanted) await this.#settle();
    } catch {
      this.#isRefused = true;
    }
  }
}
