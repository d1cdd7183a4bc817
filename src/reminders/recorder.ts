import type { Store } from '../store/engine/openStore.js';
import { endContact } from '../store/people/contacts.js';
import { type Settled, settleDeliveries } from '../store/reminding/deliveries.js';
import type { ContactEnd } from '../store/schema/reminderSchema.js';

/** The outcome of a delivery, and the contact that ends with it, if any. */
export type Result = Settled & { endsContact: { id: string; why: ContactEnd } | null };

export type RecorderParts = {
  store: Store;
  /** Unique to this process. */
  owner: string;
  now: () => number;
  /** Called for deliveries that are no longer retried, once that is recorded. */
  onGivenUp?: (delivery: { patientId: string | null; why: string }) => void;
};

/**
 * Records the outcomes of deliveries as soon as they are known, batching what arrives in the meantime. What cannot be
 * written is kept until it can: this process does not send it again before then.
 */
export class Recorder {
  readonly #parts: RecorderParts;
  #waiting: Result[] = [];
  #writing: Promise<void> | null = null;

  constructor(parts: RecorderParts) {
    this.#parts = parts;
  }

  /** Never rejects: {@link flush} reports whether it could be written. */
  record(result: Result): void {
    this.#waiting.push(result);
    this.flush().catch(() => undefined);
  }

  /**
   * Resolves once everything recorded before is written.
   *
   * @throws StillcountError if the database fails; nothing is lost then
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
