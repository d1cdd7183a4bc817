import { LRUCache } from 'lru-cache';
import type { PrescribedProgram } from '../../program/prescribed.js';
import { previewScript } from '../../session/makeSession.js';
import type { Workshop } from '../../session/workshop.js';

const mostLengths = 5_000;

/** How long sessions take, without making them; remembered. */
export class SessionLengths {
  readonly #known = new LRUCache<string, number>({ max: mostLengths });

  /** @param place names the version and the session */
  async durationMs(
    workshop: Workshop,
    program: PrescribedProgram,
    place: { prescriptionId: string; versionNumber: number; sessionNumber: number },
  ): Promise<number> {
    const key = `${place.prescriptionId} ${place.versionNumber} ${place.sessionNumber}`;
    const known = this.#known.get(key);
    if (known !== undefined) return known;
    const { script, estimatedWordings } = await previewScript(program, workshop);
    // An estimate is good for saying how many minutes it takes, but not for long.
    if (estimatedWordings === 0) this.#known.set(key, script.durationMs);
    return script.durationMs;
  }
}
