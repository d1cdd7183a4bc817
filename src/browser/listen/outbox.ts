import type { ReportAnswer, ReportItem } from '../../listening/report.js';
import { type Drawer, listKeys } from './drawer.js';
import { lastOf } from './lists.js';

/** A report that the service has not confirmed yet. */
export type Unsent = {
  item: ReportItem;
  /** Whether it was made on a caregiver's page. A link of another kind would report it in someone else's name. */
  isCaregiver: boolean;
  /** Path of the page on which it was made. */
  scope: string;
  /** Until when it can be taken back (the phone's clock, epoch ms). Later reports wait with it. */
  waitsUntilMs?: number;
};

/** The sender: the link's people, whether it is a caregiver's link, and the path of its page. */
export type Sender = { isCaregiver: boolean; peopleIds: readonly string[]; scope: string };

const prefix = 'stillcount-report:';
/** The most reports that the service accepts at once. */
const mostAtOnce = 100;
/** Browsers send at most 64 KiB from a page that is being left (Fetch standard, keepalive). */
const mostCharacters = 40_000;

/**
 * Unsent reports in the order in which they happened, each under its own name, so that two tabs never overwrite each
 * other. The outbox belongs to the browser and not to one link, so that a patient's new link sends what the old one
 * could not. A report is deleted only when the service says that it is stored, or never will be.
 */
export class Outbox {
  readonly #drawer: Drawer | null;
  readonly #onFull: () => void;
  /** Reports that the browser had no room for. */
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

  /**
   * Takes a report back.
   *
   * @returns false when it no longer waits, because the service may already have it
   */
  takeBack(id: string, nowMs: number): boolean {
    const name = this.#nameOf(id);
    if (name === undefined || (this.#read(name)?.waitsUntilMs ?? 0) <= nowMs) return false;
    this.#forget(name);
    return true;
  }

  /** Confirms all waiting reports, so that they no longer wait. */
  confirm(): void {
    for (const name of this.#names()) {
      const unsent = this.#read(name);
      if (unsent === null || unsent.waitsUntilMs === undefined) continue;
      const { waitsUntilMs: _over, ...meant } = unsent;
      this.#put(name, meant);
    }
  }

  /** Returns all unsent reports, oldest first. */
  unsent(): Unsent[] {
    return this.#names().flatMap((name) => this.#read(name) ?? []);
  }

  /**
   * Returns the reports that a link may send, oldest first. A warning goes through any link. A patient's other reports
   * can also go through that patient's next link; a caregiver's go only through the link on which they were made,
   * because another link may be someone else's.
   */
  sendable({ isCaregiver, peopleIds, scope }: Sender): Unsent[] {
    return this.unsent().filter(
      (unsent) =>
        peopleIds.includes(unsent.item.patientId) &&
        (unsent.item.kind === 'warning' || unsent.scope === scope || (!unsent.isCaregiver && !isCaregiver)),
    );
  }

  /**
   * Returns the oldest reports that a link can send now.
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

  /** Deletes the reports that the service has answered for. @returns those that it rejected permanently */
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
      // Only damaged storage contains such an entry, and it could not be sent.
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
