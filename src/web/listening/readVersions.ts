import { LRUCache } from 'lru-cache';
import { type KeptPrescription, type ReadPrescription, readKept } from '../../prescription/content.js';
import type { Workshop } from '../../session/workshop.js';
import type { SignedVersion } from '../../store/prescriptions.js';

const mostVersions = 2_000;

/** Signed versions, read: they never change, and every stretch of sound asks for one. */
export class ReadVersions {
  readonly #known = new LRUCache<string, KeptPrescription>({ max: mostVersions });
  readonly #workshop: Workshop;

  constructor(workshop: Workshop) {
    this.#workshop = workshop;
  }

  /** To be played, printed to be followed, or judged by: null for one that today's catalogue no longer allows. */
  read(prescriptionId: string, version: Pick<SignedVersion, 'number' | 'content'>): ReadPrescription | null {
    const { shown, problems } = this.kept(prescriptionId, version);
    return problems.length === 0 ? shown : null;
  }

  /** To be shown as what it was, with what is wrong with it today. */
  kept(
    prescriptionId: string,
    { number, content }: Pick<SignedVersion, 'number' | 'content'>,
  ): KeptPrescription {
    const key = `${prescriptionId} ${number}`;
    const known =
      this.#known.get(key) ?? readKept(JSON.parse(content), 'this program', this.#workshop.catalogues);
    this.#known.set(key, known);
    return known;
  }
}
