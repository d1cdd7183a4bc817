import { lastOf } from './lists.js';
import type { Shelf } from './shelf.js';

const shelfName = 'volume';
const steps = [0.25, 0.4, 0.55, 0.7, 0.85, 1];

/** The volume of the voice on this device, from 0 to 1. Some phones allow only their own buttons to change it. */
export class Volume {
  readonly #shelf: Shelf;
  readonly #sounds: readonly HTMLAudioElement[];

  constructor(shelf: Shelf, sounds: readonly HTMLAudioElement[]) {
    this.#shelf = shelf;
    this.#sounds = sounds;
    this.#set(shelf.read<number>(shelfName) ?? 1);
  }

  /** Whether the browser lets a page set the volume, which is the case if it keeps a value that was set. */
  get isOurs(): boolean {
    const probe = new Audio();
    probe.volume = 0.5;
    return probe.volume === 0.5;
  }

  get level(): number {
    return this.#shelf.read<number>(shelfName) ?? 1;
  }

  /**
   * Changes the volume by one step.
   *
   * @returns false at the end of the scale
   */
  change(by: 1 | -1): boolean {
    const now = this.level;
    const next = by === 1 ? steps.find((step) => step > now) : lastOf(steps.filter((step) => step < now));
    if (next === undefined) return false;
    this.#shelf.write(shelfName, next);
    this.#set(next);
    return true;
  }

  #set(level: number): void {
    for (const sound of this.#sounds) sound.volume = level;
  }
}
