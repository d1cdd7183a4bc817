import { LRUCache } from 'lru-cache';
import { inputError, StillcountError } from '../../errors/stillcountError.js';
import { type EasierChoice, easierChoices } from '../../listening/report.js';
import type { ReadPrescription } from '../../prescription/content.js';
import { easierProgram, programOfSession } from '../../prescription/sessionProgram.js';
import type { PrescribedProgram } from '../../program/prescribed.js';
import { previewScript } from '../../session/makeSession.js';
import type { Workshop } from '../../session/workshop.js';

const mostLengths = 5_000;
/** How long an estimate is good enough for past sessions. */
const estimateLastsMs = 60 * 60_000;

/** The length of a session, and where each of its exercises ends, in order. */
export type SessionLength = { durationMs: number; exerciseEndsMs: readonly number[] };
/** Identifies the version and the session; `choice` an easier one instead. */
type Place = {
  prescriptionId: string;
  versionNumber: number;
  sessionNumber: number;
  choice?: EasierChoice | null;
};

/** The lengths of sessions, computed without rendering them; cached. */
export class SessionLengths {
  readonly #exact = new LRUCache<string, SessionLength>({ max: mostLengths });
  readonly #estimated = new LRUCache<string, SessionLength>({ max: mostLengths, ttl: estimateLastsMs });

  async durationMs(workshop: Workshop, program: PrescribedProgram, place: Place): Promise<number> {
    return (this.#exact.get(keyOf(place)) ?? (await this.#measure(workshop, program, place))).durationMs;
  }

  /**
   * The same for sessions already heard, and for choices that may never be made: an estimate up to an hour old is good
   * enough.
   */
  async recentLength(workshop: Workshop, program: PrescribedProgram, place: Place): Promise<SessionLength> {
    const key = keyOf(place);
    return this.#exact.get(key) ?? this.#estimated.get(key) ?? this.#measure(workshop, program, place);
  }

  /** The same; null for one whose wording no longer fits, as may happen with old versions. */
  async latelyOrNull(
    workshop: Workshop,
    program: PrescribedProgram,
    place: Place,
  ): Promise<SessionLength | null> {
    try {
      return await this.recentLength(workshop, program, place);
    } catch (error) {
      if (error instanceof StillcountError && error.kind === 'input') return null;
      throw error;
    }
  }

  async #measure(workshop: Workshop, program: PrescribedProgram, place: Place): Promise<SessionLength> {
    const { script, estimatedWordings } = await previewScript(program, workshop);
    const { durationMs, chapters } = script;
    // The opening and the closing are chapters without an exercise.
    const exerciseEndsMs = chapters.flatMap(({ exercise, endMs }) => (exercise === undefined ? [] : [endMs]));
    const length = { durationMs, exerciseEndsMs };
    // An estimate is good for showing minutes, but not for long.
    (estimatedWordings === 0 ? this.#exact : this.#estimated).set(keyOf(place), length);
    return length;
  }
}

function keyOf({ prescriptionId, versionNumber, sessionNumber, choice }: Place): string {
  return `${prescriptionId} ${versionNumber} ${sessionNumber} ${choice ?? 'whole'}`;
}

/** The length of an easier session; null if the version allows none, or if its wording does not fit. */
export async function easierLength(
  { lengths, workshop }: { lengths: SessionLengths; workshop: Workshop },
  read: ReadPrescription,
  place: Place & { choice: EasierChoice },
): Promise<SessionLength | null> {
  const program = easierProgram(read, place.choice);
  if (program === null) return null;
  return lengths.latelyOrNull(workshop, programOfSession(program, place.sessionNumber), place);
}

/**
 * The lengths of a version's easier sessions, without rendering them.
 *
 * @throws StillcountError kind `input` if the exercise limits allow none this short, or the wording does not fit
 */
export async function easierLengths(
  read: Pick<ReadPrescription, 'program' | 'easier'>,
  workshop: Workshop,
): Promise<{ choice: EasierChoice; durationMs: number }[]> {
  const lengths: { choice: EasierChoice; durationMs: number }[] = [];
  for (const choice of easierChoices) {
    const program = easierProgram(read, choice);
    if (program === null) continue;
    const { script } = await previewScript(program, workshop).catch((error: unknown) => {
      throw inEasier(error, choice);
    });
    lengths.push({ choice, durationMs: script.durationMs });
  }
  return lengths;
}

const fieldOf = { shorter: 'easier.shorterMinutes', lighter: 'easier.lighter' } satisfies Record<
  EasierChoice,
  string
>;

/** What prevents an easier session concerns only that one, not the full session. */
function inEasier(error: unknown, choice: EasierChoice): unknown {
  if (!(error instanceof StillcountError) || error.kind !== 'input') return error;
  return inputError(error.problems.map((problem) => ({ ...problem, path: fieldOf[choice] })));
}
