import type { PrescribedProgram } from '../program/prescribed.js';
import type { MakingOptions } from '../session/makeSession.js';
import { readSettings } from '../session/settings.js';
import type { Workshop } from '../session/workshop.js';
import { openProgress } from './progress.js';
import { withTiming } from './verbosity.js';

/** A program file as passed to a command, with the workshop that renders it. */
export type ProgramSource = { program: PrescribedProgram; workshop: Workshop; making: MakingOptions };

/**
 * Opens the program file that a command names.
 *
 * @param voice from the command line; replaces the program's own
 */
export async function openProgramSource(path: string, voice: string | undefined): Promise<ProgramSource> {
  const { readProgramFile } = await import('../session/readProgramFile.js');
  const { openWorkshop } = await import('../session/workshop.js');
  const workshop = await withTiming('read the catalogue', () => openWorkshop(readSettings(process.env)));
  const program = await withTiming('read the program', () => readProgramFile(path, workshop));
  if (voice === undefined) return { workshop, program, making: {} };
  return { workshop, program: { ...program, voice }, making: { voicePlace: { file: '--voice' } } };
}

/** Renders something from a program, with a progress bar while it is spoken. */
export async function withProgress<Result>(
  { program, workshop, making }: ProgramSource,
  make: (program: PrescribedProgram, workshop: Workshop, options: MakingOptions) => Promise<Result>,
): Promise<Result> {
  const progress = openProgress('Speaking');
  try {
    return await withTiming('speak and make the session', () =>
      make(program, workshop, { ...making, onProgress: (done, total) => progress.update(done, total) }),
    );
  } finally {
    progress.stop();
  }
}
