import { type Drawer, listKeys } from './drawer.js';

/** The browser's storage, or null where it is forbidden. */
export function openDrawer(): Drawer | null {
  try {
    return localStorage;
  } catch {
    return null;
  }
}

/** How all names of one link's page begin. */
export const ownPrefix = (scope: string) => `stillcount ${scope} `;

/**
 * Values that outlive the page, under names of this page's own. What the browser has no room for is kept as long as
 * the page is open, and `onFull` is told.
 */
export class Shelf {
  readonly #drawer: Drawer | null;
  readonly #prefix: string;
  readonly #onFull: () => void;
  readonly #memory = new Map<string, string>();

  constructor(drawer: Drawer | null, prefix: string, onFull: () => void) {
    this.#drawer = drawer;
    this.#prefix = prefix;
    this.#onFull = onFull;
  }

  /** What was written under a name, or null; the caller knows its shape, as no one else writes here. */
  read<Value>(name: string): Value | null {
    const key = this.#prefix + name;
    const text = this.#memory.get(key) ?? this.#drawer?.getItem(key);
    if (text === undefined || text === null) return null;
    try {
      return JSON.parse(text) as Value;
    } catch {
      return null;
    }
  }

  write(name: string, value: object | string | number | boolean): void {
    const key = this.#prefix + name;
    const text = JSON.stringify(value);
    try {
      if (this.#drawer === null) throw new Error('no storage');
      this.#drawer.setItem(key, text);
      this.#memory.delete(key);
    } catch {
      this.#memory.set(key, text);
      this.#onFull();
    }
  }

  remove(name: string): void {
    this.#memory.delete(this.#prefix + name);
    this.#drawer?.removeItem(this.#prefix + name);
  }

  /** Forgets all that was written under this prefix. */
  clear(): void {
    this.#memory.clear();
    for (const key of listKeys(this.#drawer)) if (key.startsWith(this.#prefix)) this.#drawer?.removeItem(key);
  }
}
