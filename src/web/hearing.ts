import { createHash } from 'node:crypto';
import type { SessionAudio } from '../audio/sessionAudio.js';
import type { PrescribedProgram } from '../program/prescribed.js';
import { makeSession } from '../session/makeSession.js';
import type { Workshop } from '../session/workshop.js';

/** Sessions kept ready; each holds some megabytes of encoded sound at most. */
const mostReady = 20;

/** Sessions that clinicians are about to listen to, made on demand and kept for a while. */
export interface Hearing {
  /**
   * Makes the audio of a program, or gives what was made before.
   *
   * @returns the key under which it can be read, only within the same clinic
   * @throws StillcountError when the voice or the encoder fails
   */
  make(clinicId: string, program: PrescribedProgram): Promise<string>;
  /** The audio under a key, or undefined when it was never made, has been forgotten or is another clinic's. */
  audioOf(clinicId: string, key: string): Promise<SessionAudio | undefined>;
}

export function openHearing(workshop: Workshop): Hearing {
  const ready = new Map<string, Promise<SessionAudio>>();
  const placeOf = (clinicId: string, key: string) => `${clinicId} ${key}`;
  return {
    async make(clinicId, program) {
      const { file: _file, catalogue: _catalogue, ...said } = program;
      const key = createHash('sha256').update(JSON.stringify(said)).digest('hex');
      const place = placeOf(clinicId, key);
      const made = ready.get(place) ?? makeSession(program, workshop).then(({ audio }) => audio);
      // The one used last stands last, so that the first is the one to forget.
      ready.delete(place);
      ready.set(place, made);
      made.catch(() => ready.delete(place));
      for (const oldest of ready.keys()) {
        if (ready.size <= mostReady) break;
        ready.delete(oldest);
      }
      await made;
      return key;
    },
    audioOf: async (clinicId, key) => ready.get(placeOf(clinicId, key)),
  };
}
