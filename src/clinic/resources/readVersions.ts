import { LRUCache } from 'lru-cache';
import type { Problem } from '../../errors/stillcountError.js';
import { type KeptPrescription, type ReadPrescription, readKept } from '../../prescription/content.js';
import type { Workshop } from '../../session/workshop.js';
import type { Damage } from '../../store/attention/signed.js';
import type { VersionContent } from '../../store/people/chart.js';

const mostVersions = 2_000;

/** Signed versions, parsed: they never change, and every range request for audio needs one. */
export class ReadVersions {
  readonly #known = new LRUCache<string, KeptPrescription>({ max: mostVersions });
  readonly #workshop: Workshop;
  readonly #onDamaged: (damage: Damage) => void;
  readonly #reportedKeys = new Set<string>();

  /** @param onDamaged called once for each version that is not what was signed */
  constructor(workshop: Workshop, onDamaged: (damage: Damage) => void = () => undefined) {
    this.#workshop = workshop;
    this.#onDamaged = onDamaged;
  }

  /** Reads a version to play, print or judge it; null if today's catalogue no longer allows it. */
  read(prescriptionId: string, version: VersionContent): ReadPrescription | null {
    const { shown, problems } = this.kept(prescriptionId, version);
    return problems.length === 0 ? shown : null;
  }

  /** Reads a version to show it as it was, with today's problems; nothing of a damaged one. */
  kept(prescriptionId: string, { number, content, damage }: VersionContent): KeptPrescription {
    const key = `${prescriptionId} ${number}`;
    if (content === null) {
      if (!this.#reportedKeys.has(key)) this.#onDamaged(damage);
      this.#reportedKeys.add(key);
      return { shown: null, problems: [damagedProblem(damage, number)] };
    }
    const known =
      this.#known.get(key) ?? readKept(JSON.parse(content), 'this program', this.#workshop.catalogues);
    this.#known.set(key, known);
    return known;
  }
}

/** The problem with a damaged version, and what to do about it. */
export function damagedProblem(damage: Damage, number: number): Problem {
  return damage === 'version'
    ? {
        message: `version ${number} is damaged: what is stored is not what was signed`,
        hint: 'sign a new version, or have a backup restored from before it was damaged',
      }
    : {
        message:
          'the record of this program is damaged: it does not say for certain which version is in force',
        hint: 'end it and prescribe another one, or have a backup restored from before it was damaged',
      };
}
