import { LRUCache } from 'lru-cache';
import type { ReadPrescription } from '../../prescription/content.js';
import type { Workshop } from '../../session/workshop.js';
import type { SignedVersion } from '../../store/prescriptions.js';
import { readOrNull } from '../prescribing/findings.js';

const mostVersions = 2_000;

/** Signed versions, read: they never change, and every stretch of sound asks for one. */
export class ReadVersions {
  readonly #known = new LRUCache<string, { read: ReadPrescription | null }>({ max: mostVersions });
  readonly #workshop: Workshop;

  constructor(workshop: Workshop) {
    this.#workshop = workshop;
  }

  /** Null for one that today's catalogue can no longer say. */
  read(
    prescriptionId: string,
    { number, content }: Pick<SignedVersion, 'number' | 'content'>,
  ): ReadPrescription | null {
    const key = `${prescriptionId} ${number}`;
    const known = this.#known.get(key);
    if (known !== undefined) return known.read;
    const read = readOrNull(JSON.parse(content), this.#workshop);
    this.#known.set(key, { read });
    return read;
  }
}
