import { createHash } from 'node:crypto';
import type { SessionAudio } from '../../audio/sessionAudio.js';
import type { PrescribedProgram } from '../../program/prescribed.js';
import type { FairSlots } from '../../session/fairSlots.js';
import { makeSession } from '../../session/makeSession.js';
import type { Workshop } from '../../session/workshop.js';
import { refused } from '../refusals.js';

/** The number of sessions of one clinic that may wait for the voice. */
const mostWaiting = 4;

/** The number of sessions kept ready; each holds at most some megabytes of encoded sound. */
const mostReady = 20;

/** Sessions that clinicians are about to play, rendered on demand and cached for a while. */
export interface AuditionCache {
  /**
   * Renders the audio of a program, or returns a cached one.
   *
   * @returns the key under which it can be read, only within the same clinic
   * @throws StillcountError if the voice or the encoder fails, or the clinic already has many sessions waiting
   */
  make(clinicId: string, program: PrescribedProgram): Promise<string>;
  /** The audio for a key, or undefined if it was never made, has been evicted or belongs to another clinic. */
  audioOf(clinicId: string, key: string): Promise<SessionAudio | undefined>;
  /** Evicts everything made for a clinic. */
  forget(clinicId: string): void;
}

/** @param slots to render in, with a lane for each clinic */
export function openAuditionCache(workshop: Workshop, slots: FairSlots): AuditionCache {
  const ready = new Map<string, Promise<SessionAudio>>();
  const waiting = new Map<string, number>();
  function inTurn(clinicId: string, program: PrescribedProgram): Promise<SessionAudio> {
    const before = waiting.get(clinicId) ?? 0;
    if (before >= mostWaiting) throw refused('voice-busy');
    waiting.set(clinicId, before + 1);
    return slots
      .run(
        { lane: `${clinicId} hearing`, who: clinicId },
        async () => (await makeSession(program, workshop)).audio,
      )
      .finally(() => waiting.set(clinicId, (waiting.get(clinicId) ?? 1) - 1));
  }

  const placeOf = (clinicId: string, key: string) => `${clinicId} ${key}`;
  return {
    async make(clinicId, program) {
      const { file: _file, catalogue: _catalogue, ...spokenParts } = program;
      const key = createHash('sha256').update(JSON.stringify(spokenParts)).digest('hex');
      const place = placeOf(clinicId, key);
      const made = ready.get(place) ?? inTurn(clinicId, program);
      // The most recently used is last, so that the first is evicted.
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
    forget(clinicId) {
      for (const place of ready.keys()) if (place.startsWith(placeOf(clinicId, ''))) ready.delete(place);
    },
  };
}
