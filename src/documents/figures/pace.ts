import type { PrescribedExercise } from '../../program/prescribed.js';
import type { BreathPace } from '../../program/schema.js';

/** How a drawn movement goes, in seconds: out, staying there, back, and resting before the next. */
export type MovementPace = {
  outSeconds: number;
  staySeconds: number;
  backSeconds: number;
  restSeconds: number;
};

/** A movement that nobody counts takes this long, each way. Our choice; no published source. */
const uncountedSeconds = 3;
const shortestRestSeconds = 1;

/**
 * The pace of an exercise as its session counts it, so that a moving figure is never faster. Into a hold the body takes
 * its time, and the hold is counted from its start, as it is heard.
 *
 * @param breath the pace of the program; a movement goes out on the out-breath and back on the in-breath
 * @returns null for what is taken up once and kept, or only told
 */
export function movementPace(prescribed: PrescribedExercise, breath: BreathPace): MovementPace | null {
  switch (prescribed.timing) {
    case 'tempo': {
      const { liftSeconds, holdSeconds, lowerSeconds, restSeconds } = prescribed.dose;
      return {
        outSeconds: liftSeconds,
        staySeconds: holdSeconds,
        backSeconds: lowerSeconds,
        restSeconds: Math.max(shortestRestSeconds, restSeconds),
      };
    }
    case 'hold': {
      const { holdSeconds, restSeconds } = prescribed.dose;
      return {
        outSeconds: uncountedSeconds,
        staySeconds: Math.max(0, holdSeconds - uncountedSeconds),
        backSeconds: uncountedSeconds,
        restSeconds: Math.max(shortestRestSeconds, restSeconds - uncountedSeconds),
      };
    }
    case 'breath':
      return {
        outSeconds: breath.outSeconds,
        staySeconds: breath.pauseAfterOutSeconds,
        backSeconds: breath.inSeconds,
        restSeconds: breath.pauseAfterInSeconds,
      };
    case 'sustained':
    case 'talk':
      return null;
  }
}
