import { lighterProgram, shorterProgram } from '../program/easier.js';
import type { PrescribedProgram } from '../program/prescribed.js';
import type { ReadPrescription } from './content.js';

/** Returns the program of one session; words become fewer as its number grows, and vary with its seed. */
export function programOfSession(program: PrescribedProgram, sessionNumber: number): PrescribedProgram {
  const { number, seed } = program.session;
  return {
    ...program,
    session: { ...program.session, number: sessionNumber, seed: seed + sessionNumber - number },
  };
}

/** Returns the program of an easier session; null when the version allows none, or when it would equal the full one. */
export function easierProgram(
  { program, easier }: Pick<ReadPrescription, 'program' | 'easier'>,
  choice: 'shorter' | 'lighter',
): PrescribedProgram | null {
  switch (choice) {
    case 'shorter':
      return easier.shorterMinutes === null ? null : shorterProgram(program, easier.shorterMinutes);
    case 'lighter':
      return easier.lighter ? lighterProgram(program) : null;
  }
}
