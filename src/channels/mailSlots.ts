/**
 * How many messages are under way to one server at once: few that are being handed over, and beside them those whose
 * answer is slow, up to a most. A slow server then holds up few others, and a quick one sees few connections.
 */
export class MailSlots {
  readonly #most: { handing: number; inAll: number };
  readonly #waiting: (() => void)[] = [];
  #handing = 0;
  #slow = 0;

  constructor(most: { handing: number; inAll: number }) {
    this.#most = most;
  }

  /** Resolves when there is room; false when the signal came first. */
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

  /** What was being handed over waits for a slow answer now. */
  becomesSlow(): void {
    this.#handing -= 1;
    this.#slow += 1;
    this.#next();
  }

  /** It has ended. */
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
