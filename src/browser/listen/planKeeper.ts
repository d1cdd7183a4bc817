import type { Plan } from '../../listening/plan.js';
import type { Shelf } from './shelf.js';
import { startTimeout } from './timeout.js';

/** A plan, and the phone's clock when it arrived. */
type Received = { plan: Plan; receivedAtMs: number };

/**
 * Result of a refresh. `away`: the service was not reached. `dead`: the link no longer opens. `locked`: the service
 * asks for the link's PIN.
 */
export type Refreshed = 'fresh' | 'away' | 'dead' | 'locked';

const shelfName = 'plan';
const address = 'plan.json';
const patienceMs = 15_000;

/**
 * Holds the current plan and the service's clock. The phone's own clock may be wrong by hours, and no session may
 * become due because of that.
 */
export class PlanKeeper {
  readonly #shelf: Shelf;
  readonly #phoneNow: () => number;
  #received: Received;

  /**
   * @param inPage the plan that came with the page; a page from the phone's cache has an old one
   */
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

  /** Returns the service's clock, epoch ms. */
  now(): number {
    const { plan, receivedAtMs } = this.#received;
    return plan.nowMs + this.#phoneNow() - receivedAtMs;
  }

  /** How long ago the service was last reached, in ms. */
  get ageMs(): number {
    return this.#phoneNow() - this.#received.receivedAtMs;
  }

  /** Whether the service has not been reached for so long that the program may have changed. */
  get isOutdated(): boolean {
    return this.now() > this.plan.goodUntilMs;
  }

  /** Fetches the current plan, never a cached one. */
  async refresh(): Promise<Refreshed> {
    const { signal, end } = startTimeout(patienceMs);
    try {
      const response = await fetch(address, { signal });
      if (response.status === 404) return 'dead';
      if (response.status === 401) return 'locked';
      if (!response.ok) return 'away';
      const plan: Plan = await response.json();
      // Ignore an answer that a newer one has overtaken.
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
