import type { ReportItem } from '../../listening/report.js';
import type { Outbox, Sender, Unsent } from './outbox.js';
import { sendAll } from './sendAll.js';
import { postBeforeUnload, postReport, withTabLock } from './sending.js';

const retryMs = 30_000;

export type CourierEvents = {
  /**
   * Called with how many reports of these people are still on the phone, and whether a confirmed warning is among them.
   */
  onUnsent(count: number, holdsWarning: boolean): void;
  /** Called with items that the service will never accept. */
  onRefused(items: ReportItem[]): void;
  /** Called when the service no longer opens this link, or asks for its PIN. */
  onShut(): void;
};

/**
 * Delivers reports to the service, at once or as soon as possible. It dispatches `change` when the set of delivered
 * reports changes.
 */
export class Courier extends EventTarget {
  readonly #outbox: Outbox;
  readonly #sender: () => Sender;
  readonly #events: CourierEvents;
  #sending: Promise<void> | null = null;
  #isAskedAgain = false;
  /** Ids of people for whom the service rejected a warning. */
  readonly #refusedWarnings = new Set<string>();
  #retry: ReturnType<typeof setTimeout> | undefined;

  /**
   * @param sender called for every report, because the people of a link can change
   */
  constructor(outbox: Outbox, sender: () => Sender, events: CourierEvents) {
    super();
    this.#outbox = outbox;
    this.#sender = sender;
    this.#events = events;
    window.addEventListener('online', () => this.send());
    window.addEventListener('pagehide', () => this.#leave());
    // The phone may never return to this page once it is put away.
    document.addEventListener('visibilitychange', () => {
      if (document.visibilityState === 'hidden') this.confirm();
    });
  }

  /**
   * Adds a report and sends it.
   *
   * @param waitsMs how long it can still be taken back
   */
  tell(item: ReportItem, waitsMs = 0): void {
    const { isCaregiver, scope } = this.#sender();
    const waits: Partial<Unsent> = waitsMs === 0 ? {} : { waitsUntilMs: Date.now() + waitsMs };
    this.#outbox.add({ item, isCaregiver, scope, ...waits });
    this.send();
    if (waitsMs > 0) setTimeout(() => this.send(), waitsMs + 50);
  }

  /**
   * Takes a report back.
   *
   * @returns false when the service may already have it
   */
  takeBack(id: string): boolean {
    const wasHere = this.#outbox.takeBack(id, Date.now());
    this.#count();
    this.send();
    return wasHere;
  }

  /** Confirms everything that could still be taken back, and sends it at once. */
  confirm(): void {
    this.#outbox.confirm();
    this.send();
  }

  /** Returns whether a report about someone is still unsent. */
  hasUnsent(patientId: string, kind?: ReportItem['kind']): boolean {
    return this.#outbox
      .sendable(this.#sender())
      .some(({ item }) => item.patientId === patientId && (kind === undefined || item.kind === kind));
  }

  /** Returns whether a warning about someone has not reached the clinic, or was rejected there. */
  hasUnsentWarning(patientId: string): boolean {
    // This includes warnings that another link has to send: a warning counts as unsent until the service has confirmed
    // it.
    const isHere = this.#outbox
      .unsent()
      .some(({ item }) => item.kind === 'warning' && item.patientId === patientId);
    return isHere || this.#refusedWarnings.has(patientId);
  }

  /** Whether a warning for one of this link's people would be lost with the link. */
  get holdsWarning(): boolean {
    return this.#sender().peopleIds.some((id) => this.hasUnsent(id, 'warning'));
  }

  /** Sends now, and then every half minute while something is unsent. */
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
    // The browser may restore the page from memory later; by then its reports have reached the clinic.
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
