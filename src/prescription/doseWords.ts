/** A dose in words for the clinician, such as `hold 6 s`. */

const doseNames: Readonly<Record<string, string>> = {
  durationSeconds: 'time',
  sets: 'sets',
  reps: 'repetitions',
  holdSeconds: 'hold',
  liftSeconds: 'lift',
  lowerSeconds: 'lower',
  restSeconds: 'rest',
  setRestSeconds: 'rest between sets',
};

/**
 * Puts every part of a dose that applies into words, with sets and repetitions as clinicians write them: `2 x 8, hold 6
 * s`. The rest between sets is included only when there are several sets.
 */
export function doseInWords(dose: Readonly<Record<string, number>>): string {
  const { sets, reps, ...others } = dose;
  const parts = Object.entries(others)
    .filter(([key]) => key !== 'setRestSeconds' || (sets ?? 1) > 1)
    .map(([key, value]) => `${doseName(key)} ${doseValue(key, value)}`);
  return [...volumeInWords(sets, reps), ...parts].join(', ');
}

function volumeInWords(sets: number | undefined, reps: number | undefined): string[] {
  if (reps === undefined) return sets === undefined ? [] : [`${sets} set${sets === 1 ? '' : 's'}`];
  return [sets === undefined ? `${reps} rep${reps === 1 ? '' : 's'}` : `${sets} x ${reps}`];
}

/** Returns the name of a dose key. */
export function doseName(key: string): string {
  return doseNames[key] ?? key;
}

/** Formats a dose number: durations in minutes and seconds, other numbers unchanged. */
export function doseValue(key: string, value: number): string {
  return key.endsWith('Seconds') ? secondsInWords(value) : String(value);
}

/** Formats seconds as minutes and seconds. */
export function secondsInWords(seconds: number): string {
  if (seconds < 60) return `${seconds} s`;
  const rest = seconds % 60;
  return `${Math.floor(seconds / 60)} min${rest === 0 ? '' : ` ${rest} s`}`;
}
