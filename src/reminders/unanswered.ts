import type { Store } from '../store/engine/openStore.js';
import { extendLeases } from '../store/reminding/heldDeliveries.js';

export type UnansweredParts = {
  store: Store;
  owner: string;
  now: () => number;
  leaseMs: number;
};

/**
 * Deliveries that were handed over and whose response is slow. They stay claimed while it is awaited, and the database
 * records that: a process that takes them over, if this one dies, knows that they may have arrived.
 */
export class Unanswered {
  readonly #parts: UnansweredParts;
  readonly #ids = new Set<string>();
  #timer: NodeJS.Timeout | undefined;

  constructor(parts: UnansweredParts) {
    this.#parts = parts;
  }

  /** Never rejects: what cannot be noted now is noted with the next renewal. */
  async add(id: string): Promise<void> {
    this.#ids.add(id);
    this.#timer ??= setInterval(() => this.#hold([...this.#ids]), this.#parts.leaseMs / 3);
    await this.#hold([id]);
  }

  delete(id: string): void {
    this.#ids.delete(id);
    if (this.#ids.size > 0) return;
    clearInterval(this.#timer);
    this.#timer = undefined;
  }

  async #hold(ids: readonly string[]): Promise<void> {
    const { store, owner, now, leaseMs } = this.#parts;
    await store
      .write((db) => extendLeases(db, { owner, ids, leaseUntilMs: now() + leaseMs }))
      .catch(() => undefined);
  }
}
