/**
 * Limits how many messages are in flight to one server: few that are being handed over, and in addition those with a
 * slow response, up to a maximum. A slow server then holds up few others, and a fast one sees few connections.
 */
export class MailSlots {
  readonly #most: { handing: number; inAll: number };
  readonly #waiting: (() => void)[] = [];
  #handing = 0;
  #slow = 0;

  constructor(most: { handing: number; inAll: number }) {
    this.#most = most;
  }

  /** Resolves when there is a free slot; false if the signal aborts first. */
  async take(signal: AbortSignal): Promise<boolean> {
    if (signal.aborted) return false;
    if (this.#hasRoom()) {
      this.#handing += 1;
      return true;
    }
    return new Promise((resolve) => {
      const goOn = () => {
        signal.removeEventListener('abort', giveUp);
        resolve(true);
      };
      const giveUp = () => {
        this.#waiting.splice(this.#waiting.indexOf(goOn), 1);
        resolve(false);
      };
      signal.addEventListener('abort', giveUp, { once: true });
      this.#waiting.push(goOn);
    });
  }

  /** Marks a message that was being handed over as waiting for a slow response. */
  becomesSlow(): void {
    this.#handing -= 1;
    this.#slow += 1;
    this.#next();
  }

  /** Frees the slot of a message that has ended. */
  release({ isSlow }: { isSlow: boolean }): void {
    if (isSlow) this.#slow -= 1;
    else this.#handing -= 1;
    this.#next();
  }

  #hasRoom(): boolean {
    return this.#handing < this.#most.handing && this.#handing + this.#slow < this.#most.inAll;
  }

  #next(): void {
    while (this.#waiting.length > 0 && this.#hasRoom()) {
      this.#handing += 1;
      this.#waiting.shift()?.();
    }
  }
}
