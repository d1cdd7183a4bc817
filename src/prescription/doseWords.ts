/** A dose in words that a clinician reads, such as `hold 6 s`. */

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

/** Every part of a dose that means something: the rest between sets only where there are several. */
export function doseInWords(dose: Readonly<Record<string, number>>): string {
  return Object.entries(dose)
    .filter(([key]) => key !== 'setRestSeconds' || (dose.sets ?? 1) > 1)
    .map(([key, value]) => `${doseName(key)} ${doseValue(key, value)}`)
    .join(', ');
}

export function doseName(key: string): string {
  return doseNames[key] ?? key;
}

/** Seconds as minutes and seconds; other numbers as they are. */
export function doseValue(key: string, value: number): string {
  return key.endsWith('Seconds') ? secondsInWords(value) : String(value);
}

export function secondsInWords(seconds: number): string {
  if (seconds < 60) return `${seconds} s`;
  const rest = seconds % 60;
  return `${Math.floor(seconds / 60)} min${rest === 0 ? '' : ` ${rest} s`}`;
}
