import type { Shelf } from './shelf.js';

const shelfName = 'screen-may-sleep';

/**
 * Keeps the screen on while it has to be touchable. If the phone refuses, everything works without it, because the
 * sound also plays with a dark screen.
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

  /** Whether the listener lets the screen go dark; stored on this device. */
  get maySleep(): boolean {
    return this.#shelf.read<boolean>(shelfName) ?? false;
  }

  set maySleep(may: boolean) {
    this.#shelf.write(shelfName, may);
    this.#settle();
  }

  /** Whether the screen may go dark although it should stay on, because the phone refused or does not support this. */
  get isRefused(): boolean {
    return this.#isRefused;
  }

  /**
   * Keeps the screen on, or stops doing so.
   *
   * @param evenSo keeps it on even where the listener lets it sleep, because a bedside tablet has to be visible
   */
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
      // The phone releases the lock when the page is hidden.
      lock.addEventListener('release', () => {
        if (this.#lock === lock) this.#lock = null;
      });
      if (!this.#isWanted) await this.#settle();
    } catch {
      this.#isRefused = true;
    }
  }
}
