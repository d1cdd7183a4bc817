import type { PrescribedExercise, PrescribedProgram } from '../../src/program/prescribed.js';

/** One piece of work as prescribed, for comparison with what the cues say. Written apart from the script room. */
export type ExpectedWork = { set: number; rep: number; side: 'left' | 'right' | null; lengthMs: number };

/** The whole prescribed dose of one exercise in the order in which it must be heard. */
export function expectedWork(prescribed: PrescribedExercise, program: PrescribedProgram): ExpectedWork[] {
  if (prescribed.timing === 'talk') return [];
  const lengthMs = Math.round(lengthSeconds(prescribed, program) * 1000);
  const sets = prescribed.timing === 'sustained' ? 1 : prescribed.dose.sets;
  const reps = prescribed.timing === 'sustained' ? 1 : prescribed.dose.reps;
  const expected: ExpectedWork[] = [];
  const push = (set: number, rep: number, side: 'left' | 'right' | null) =>
    expected.push({ set, rep, side, lengthMs });
  if (prescribed.side === 'alternate') {
    for (let set = 1; set <= sets; set++)
      for (let rep = 1; rep <= reps; rep++) {
        push(set, rep, 'left');
        push(set, rep, 'right');
      }
    return expected;
  }
  for (const side of prescribed.side === 'both' ? (['left', 'right'] as const) : [prescribed.side])
    for (let set = 1; set <= sets; set++) for (let rep = 1; rep <= reps; rep++) push(set, rep, side);
  return expected;
}

function lengthSeconds(prescribed: PrescribedExercise, program: PrescribedProgram): number {
  switch (prescribed.timing) {
    case 'hold':
      return prescribed.dose.holdSeconds;
    case 'tempo':
      return prescribed.dose.liftSeconds + prescribed.dose.holdSeconds + prescribed.dose.lowerSeconds;
    case 'breath': {
      const { inSeconds, pauseAfterInSeconds, outSeconds, pauseAfterOutSeconds } = program.breath;
      return inSeconds + pauseAfterInSeconds + outSeconds + pauseAfterOutSeconds;
    }
    case 'sustained':
      return prescribed.dose.durationSeconds;
    case 'talk':
      return 0;
  }
}
