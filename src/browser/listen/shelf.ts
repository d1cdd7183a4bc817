import { type Drawer, listKeys } from './drawer.js';

/** Returns the browser's storage, or null where access is forbidden. */
export function openDrawer(): Drawer | null {
  try {
    return localStorage;
  } catch {
    return null;
  }
}

/** Prefix of all names that belong to one link's page. */
export const ownPrefix = (scope: string) => `stillcount ${scope} `;

/**
 * Values that outlive the page, under this page's own names. A value that the browser has no room for is held while the
 * page is open, and `onFull` is called.
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

  /** Returns the value under a name, or null. The caller knows its type, because nothing else writes here. */
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

  /** Deletes everything under this prefix. */
  clear(): void {
    this.#memory.clear();
    for (const key of listKeys(this.#drawer)) if (key.startsWith(this.#prefix)) this.#drawer?.removeItem(key);
  }
}
