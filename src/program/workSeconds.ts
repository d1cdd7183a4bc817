import type { PrescribedExercise } from './prescribed.js';
import type { BreathPace } from './schema.js';

/** Two hours: far beyond any home program here (common practice, no published source). */
export const maxSessionMinutes = 120;

/** Returns the seconds of work and prescribed rest in an exercise, without any words: the least time it can take. */
export function workSeconds(prescribed: PrescribedExercise, breath: BreathPace): number {
  const sides = prescribed.side === 'both' || prescribed.side === 'alternate' ? 2 : 1;
  switch (prescribed.timing) {
    case 'talk':
      return 0;
    case 'sustained':
      return prescribed.dose.durationSeconds * sides;
    case 'hold': {
      const { sets, reps, holdSeconds, restSeconds } = prescribed.dose;
      return sides * sets * (reps * holdSeconds + (reps - 1) * restSeconds);
    }
    case 'tempo': {
      const { sets, reps, liftSeconds, holdSeconds, lowerSeconds, restSeconds } = prescribed.dose;
      return sides * sets * (reps * (liftSeconds + holdSeconds + lowerSeconds) + (reps - 1) * restSeconds);
    }
    case 'breath': {
      const cycleSeconds =
        breath.inSeconds + breath.pauseAfterInSeconds + breath.outSeconds + breath.pauseAfterOutSeconds;
      return sides * prescribed.dose.sets * prescribed.dose.reps * cycleSeconds;
    }
  }
}
