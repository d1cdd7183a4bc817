import type { ReportItem } from '../../listening/report.js';
import type { Outbox, Sender, Unsent } from './outbox.js';
import { sendAll } from './sendAll.js';
import { postBeforeUnload, postReport, withTabLock } from './sending.js';

const retryMs = 30_000;

export type CourierEvents = {
  /** How many reports of these people are still on the phone, and whether a warning that is meant is one of them. */
  onUnsent(count: number, holdsWarning: boolean): void;
  /** The service will never take these. */
  onRefused(items: ReportItem[]): void;
  /** The service no longer opens this link, or wants its PIN. */
  onShut(): void;
};

/**
 * Sees to it that reports reach the service: at once when it can, else as soon as it can. It says `change` when more or
 * less of them has.
 */
export class Courier extends EventTarget {
  readonly #outbox: Outbox;
  readonly #sender: () => Sender;
  readonly #events: CourierEvents;
  #sending: Promise<void> | null = null;
  #isAskedAgain = false;
  /** People about whom the service would not take a warning. */
  readonly #refusedWarnings = new Set<string>();
  #retry: ReturnType<typeof setTimeout> | undefined;

  /** @param sender asked again each time, as people come and go */
  constructor(outbox: Outbox, sender: () => Sender, events: CourierEvents) {
    super();
    this.#outbox = outbox;
    this.#sender = sender;
    this.#events = events;
    window.addEventListener('online', () => this.send());
    window.addEventListener('pagehide', () => this.#leave());
    // A phone that is put away may never come back to this page.
    document.addEventListener('visibilitychange', () => {
      if (document.visibilityState === 'hidden') this.confirm();
    });
  }

  /** @param waitsMs how long it can still be taken back */
  tell(item: ReportItem, waitsMs = 0): void {
    const { isCaregiver, scope } = this.#sender();
    const waits: Partial<Unsent> = waitsMs === 0 ? {} : { waitsUntilMs: Date.now() + waitsMs };
    this.#outbox.add({ item, isCaregiver, scope, ...waits });
    this.send();
    if (waitsMs > 0) setTimeout(() => this.send(), waitsMs + 50);
  }

  /** @returns false when the service may have it already */
  takeBack(id: string): boolean {
    const wasHere = this.#outbox.takeBack(id, Date.now());
    this.#count();
    this.send();
    return wasHere;
  }

  /** What could still be taken back is meant, and goes at once. */
  confirm(): void {
    this.#outbox.confirm();
    this.send();
  }

  /** Whether a report about someone is still on its way. */
  hasUnsent(patientId: string, kind?: ReportItem['kind']): boolean {
    return this.#outbox
      .sendable(this.#sender())
      .some(({ item }) => item.patientId === patientId && (kind === undefined || item.kind === kind));
  }

  /** Whether a warning about someone did not reach the clinic, or was not taken there. */
  hasUnsentWarning(patientId: string): boolean {
    // Whoever may send it: it is unsent until the service has answered for it.
    const isHere = this.#outbox
      .unsent()
      .some(({ item }) => item.kind === 'warning' && item.patientId === patientId);
    return isHere || this.#refusedWarnings.has(patientId);
  }

  /** Whether any warning of this link's people would be lost with it. */
  get holdsWarning(): boolean {
    return this.#sender().peopleIds.some((id) => this.hasUnsent(id, 'warning'));
  }

  /** Sends now, and again every half minute as long as something is unsent. */
  send(): Promise<void> {
    this.#count();
    if (this.#sending !== null) {
      this.#isAskedAgain = true;
      return this.#sending;
    }
    this.#sending = this.#sendOnce().finally(() => {
      this.#sending = null;
      if (this.#isAskedAgain) {
        this.#isAskedAgain = false;
        this.send();
      }
    });
    return this.#sending;
  }

  async #sendOnce(): Promise<void> {
    clearTimeout(this.#retry);
    const { ended, refused } = await withTabLock(() =>
      sendAll(this.#outbox, { sender: this.#sender(), post: postReport, now: Date.now }),
    );
    for (const { kind, patientId } of refused) if (kind === 'warning') this.#refusedWarnings.add(patientId);
    if (refused.length > 0) this.#events.onRefused(refused);
    if (ended === 'shut') this.#events.onShut();
    if (this.#count() > 0) this.#retry = setTimeout(() => this.send(), retryMs);
  }

  #leave(): void {
    // The page may come back out of the browser's memory, but what it sent is then with the clinic.
    this.#outbox.confirm();
    const items = this.#outbox.batch(this.#sender(), Date.now());
    if (items.length > 0) postBeforeUnload({ sentAtMs: Date.now(), items });
  }

  #count(): number {
    const unsent = this.#outbox.sendable(this.#sender());
    const count = unsent.length;
    const isMeant = ({ item, waitsUntilMs }: Unsent) =>
      item.kind === 'warning' && (waitsUntilMs ?? 0) <= Date.now();
    this.#events.onUnsent(count, unsent.some(isMeant));
    this.dispatchEvent(new Event('change'));
    return count;
  }
}
