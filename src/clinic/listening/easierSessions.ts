import { inputError, StillcountError } from '../../errors/stillcountError.js';
import { type EasierChoice, easierChoices } from '../../listening/report.js';
import type { ReadPrescription } from '../../prescription/content.js';
import { lighterProgram, shorterProgram } from '../../program/easier.js';
import type { PrescribedProgram } from '../../program/prescribed.js';
import { previewScript } from '../../session/makeSession.js';
import type { Workshop } from '../../session/workshop.js';

type OfVersion = Pick<ReadPrescription, 'program' | 'easier'>;

/** The program of an easier session; null when the version allows none, or it would be the whole one again. */
export function easierProgram(
  { program, easier }: OfVersion,
  choice: EasierChoice,
): PrescribedProgram | null {
  switch (choice) {
    case 'shorter':
      return easier.shorterMinutes === null ? null : shorterProgram(program, easier.shorterMinutes);
    case 'lighter':
      return easier.lighter ? lighterProgram(program) : null;
  }
}

/**
 * How long the easier sessions of a version take, without making them.
 *
 * @throws StillcountError kind `input` when the limits of the exercises allow none so short, or words have no room
 */
export async function easierLengths(
  read: OfVersion,
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

/** What stands against an easier session is about that one, and not about the whole. */
function inEasier(error: unknown, choice: EasierChoice): unknown {
  if (!(error instanceof StillcountError) || error.kind !== 'input') return error;
  return inputError(error.problems.map((problem) => ({ ...problem, path: fieldOf[choice] })));
}
