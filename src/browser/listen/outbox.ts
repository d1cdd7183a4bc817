import type { ReportAnswer, ReportItem } from '../../listening/report.js';
import { type Drawer, listKeys } from './drawer.js';
import { lastOf } from './lists.js';

/** A report that the service has not confirmed yet. */
export type Unsent = {
  item: ReportItem;
  /** Told on a caregiver's page: another kind of link would tell it as someone else's. */
  isCaregiver: boolean;
  /** Path of the page on which it was told. */
  scope: string;
  /** Until then (the phone's clock, epoch ms) it can be taken back. Whatever happened after it waits with it. */
  waitsUntilMs?: number;
};

/** Who may send: the link's people, whether it is a caregiver's, and the path of its page. */
export type Sender = { isCaregiver: boolean; peopleIds: readonly string[]; scope: string };

const prefix = 'stillcount-report:';
/** As many as the service takes at once. */
const mostAtOnce = 100;
/** Browsers send no more than 64 KiB from a page that is being left (Fetch standard, keepalive). */
const mostCharacters = 40_000;

/**
 * Unsent reports, in the order in which they happened, each under a name of its own, so that two tabs never overwrite
 * each other. It belongs to the browser and not to one link: a patient's new link sends what the old one could not. A
 * report is forgotten only when the service says that it is kept, or never will be.
 */
export class Outbox {
  readonly #drawer: Drawer | null;
  readonly #onFull: () => void;
  /** What the browser had no room for. */
  readonly #memory = new Map<string, Unsent>();

  constructor(drawer: Drawer | null, onFull: () => void) {
    this.#drawer = drawer;
    this.#onFull = onFull;
  }

  add(unsent: Unsent): void {
    const last = lastOf(this.#names());
    const number = last === undefined ? 1 : numberOf(last) + 1;
    const name = `${prefix}${String(number).padStart(10, '0')}:${unsent.item.id}`;
    this.#put(name, unsent);
  }

  /** @returns false when it no longer waits: the service may have it */
  takeBack(id: string, nowMs: number): boolean {
    const name = this.#nameOf(id);
    if (name === undefined || (this.#read(name)?.waitsUntilMs ?? 0) <= nowMs) return false;
    this.#forget(name);
    return true;
  }

  /** What waits no longer does: it is meant. */
  confirm(): void {
    for (const name of this.#names()) {
      const unsent = this.#read(name);
      if (unsent === null || unsent.waitsUntilMs === undefined) continue;
      const { waitsUntilMs: _over, ...meant } = unsent;
      this.#put(name, meant);
    }
  }

  /** Oldest first. */
  unsent(): Unsent[] {
    return this.#names().flatMap((name) => this.#read(name) ?? []);
  }

  /**
   * What a link may send, oldest first. A warning goes through whatever link there is. A patient's other reports also
   * go through that patient's next link; a caregiver's only through the one on which they were told, because another
   * one may be someone else's.
   */
  sendable({ isCaregiver, peopleIds, scope }: Sender): Unsent[] {
    return this.unsent().filter(
      (unsent) =>
        peopleIds.includes(unsent.item.patientId) &&
        (unsent.item.kind === 'warning' || unsent.scope === scope || (!unsent.isCaregiver && !isCaregiver)),
    );
  }

  /**
   * The oldest reports that a link can send now.
   *
   * @param nowMs the phone's clock
   */
  batch(sender: Sender, nowMs: number): ReportItem[] {
    const own = this.sendable(sender);
    const waiting = own.findIndex(({ waitsUntilMs }) => (waitsUntilMs ?? 0) > nowMs);
    const ready = (waiting === -1 ? own : own.slice(0, waiting)).map(({ item }) => item).slice(0, mostAtOnce);
    let characters = 0;
    return ready.filter((item, index) => {
      characters += JSON.stringify(item).length;
      return index === 0 || characters <= mostCharacters;
    });
  }

  /** Forgets what the service answered for. @returns what it refused for good */
  settle(sent: readonly ReportItem[], { keptIds, refused }: ReportAnswer): ReportItem[] {
    const refusedItems = refused.flatMap(({ index }) => sent[index] ?? []);
    for (const id of [...keptIds, ...refusedItems.map((item) => item.id)]) {
      const name = this.#nameOf(id);
      if (name !== undefined) this.#forget(name);
    }
    return refusedItems;
  }

  #names(): string[] {
    const stored = listKeys(this.#drawer).filter((key) => key.startsWith(prefix));
    return [...new Set([...stored, ...this.#memory.keys()])].sort();
  }

  #nameOf(id: string): string | undefined {
    return this.#names().find((name) => name.endsWith(`:${id}`));
  }

  #put(name: string, unsent: Unsent): void {
    try {
      if (this.#drawer === null) throw new Error('no storage');
      this.#drawer.setItem(name, JSON.stringify(unsent));
      this.#memory.delete(name);
    } catch {
      this.#memory.set(name, unsent);
      this.#onFull();
    }
  }

  #read(name: string): Unsent | null {
    const inMemory = this.#memory.get(name);
    if (inMemory !== undefined) return inMemory;
    const text = this.#drawer?.getItem(name) ?? null;
    if (text === null) return null;
    try {
      return JSON.parse(text) as Unsent;
    } catch {
      // Only a damaged storage holds such a thing, and no one could send it.
      this.#forget(name);
      return null;
    }
  }

  #forget(name: string): void {
    this.#memory.delete(name);
    this.#drawer?.removeItem(name);
  }
}

function numberOf(name: string): number {
  return Number(name.slice(prefix.length).split(':')[0]);
}
