import type { Plan } from '../../listening/plan.js';
import type { Shelf } from './shelf.js';
import { startTimeout } from './timeout.js';

/** A plan, and what the phone's clock said when it came. */
type Received = { plan: Plan; receivedAtMs: number };

/** `away`: the service was not reached. `dead`: the link no longer opens. `locked`: it wants its PIN. */
export type Refreshed = 'fresh' | 'away' | 'dead' | 'locked';

const shelfName = 'plan';
const address = 'plan.json';
const patienceMs = 15_000;

/**
 * The plan that holds, and the service's clock: a phone's own may be wrong by hours, and no session is due because of
 * that.
 */
export class PlanKeeper {
  readonly #shelf: Shelf;
  readonly #phoneNow: () => number;
  #received: Received;

  /** @param inPage the plan that came with the page; a page from the phone's own store brings an old one */
  constructor(shelf: Shelf, inPage: Plan, phoneNow: () => number) {
    this.#shelf = shelf;
    this.#phoneNow = phoneNow;
    const stored = shelf.read<Received>(shelfName);
    if (stored !== null && stored.plan.format === inPage.format && stored.plan.nowMs >= inPage.nowMs) {
      this.#received = stored;
    } else {
      this.#received = { plan: inPage, receivedAtMs: phoneNow() };
      this.#shelf.write(shelfName, this.#received);
    }
  }

  get plan(): Plan {
    return this.#received.plan;
  }

  /** The service's clock, epoch ms. */
  now(): number {
    const { plan, receivedAtMs } = this.#received;
    return plan.nowMs + this.#phoneNow() - receivedAtMs;
  }

  /** How long ago the service was reached, ms. */
  get ageMs(): number {
    return this.#phoneNow() - this.#received.receivedAtMs;
  }

  /** The service was not reached for so long that the program may have been changed. */
  get isOutdated(): boolean {
    return this.now() > this.plan.goodUntilMs;
  }

  /** Fetches the plan as it is now, never one that was asked for before. */
  async refresh(): Promise<Refreshed> {
    const { signal, end } = startTimeout(patienceMs);
    try {
      const response = await fetch(address, { signal });
      if (response.status === 404) return 'dead';
      if (response.status === 401) return 'locked';
      if (!response.ok) return 'away';
      const plan: Plan = await response.json();
      // An answer that was overtaken by a newer one says nothing new.
      if (plan.nowMs < this.plan.nowMs) return 'fresh';
      this.#received = { plan, receivedAtMs: this.#phoneNow() };
      this.#shelf.write(shelfName, this.#received);
      return 'fresh';
    } catch {
      return 'away';
    } finally {
      end();
    }
  }
}
