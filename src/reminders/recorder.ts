import type { Store } from '../store/engine/openStore.js';
import { endContact } from '../store/people/contacts.js';
import { type Settled, settleDeliveries } from '../store/reminding/deliveries.js';
import type { ContactEnd } from '../store/schema/reminderSchema.js';

/** What came of a delivery, and the contact that ends with it, if one does. */
export type Result = Settled & { endsContact: { id: string; why: ContactEnd } | null };

export type RecorderParts = {
  store: Store;
  /** Names this process; no one else's. */
  owner: string;
  now: () => number;
  /** Told of what is not tried any longer, once it is recorded. */
  onGivenUp?: (delivery: { patientId: string | null; why: string }) => void;
};

/**
 * Records what came of deliveries as soon as it is known, as many at once as have come together in the meantime. What
 * cannot be written stays here until it can: it is not sent again by this process before.
 */
export class Recorder {
  readonly #parts: RecorderParts;
  #waiting: Result[] = [];
  #writing: Promise<void> | null = null;

  constructor(parts: RecorderParts) {
    this.#parts = parts;
  }

  /** Never rejects: {@link flush} tells whether it could be written. */
  record(result: Result): void {
    this.#waiting.push(result);
    this.flush().catch(() => undefined);
  }

  /**
   * Resolves once everything that was recorded before is written.
   *
   * @throws StillcountError when the database fails; nothing is lost then
   */
  async flush(): Promise<void> {
    while (this.#writing !== null || this.#waiting.length > 0) {
      this.#writing ??= this.#write().finally(() => {
        this.#writing = null;
      });
      await this.#writing;
    }
  }

  async #write(): Promise<void> {
    const results = this.#waiting;
    this.#waiting = [];
    const { store, owner, now, onGivenUp } = this.#parts;
    const nowMs = now();
    try {
      await store.write(async (db) => {
        await settleDeliveries(db, owner, results, nowMs);
        for (const { endsContact } of results) {
          if (endsContact !== null) await endContact(db, endsContact.id, { why: endsContact.why, nowMs });
        }
      });
    } catch (error) {
      this.#waiting = [...results, ...this.#waiting];
      throw error;
    }
    for (const { state, patientId, why } of results) {
      if (state === 'failed') onGivenUp?.({ patientId, why: why ?? 'unknown' });
    }
  }
}
