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

/** Seconds as such, or as minutes where they are whole ones; other numbers as they are. */
export function doseValue(key: string, value: number): string {
  return key.endsWith('Seconds') ? secondsInWords(value) : String(value);
}

export function secondsInWords(seconds: number): string {
  return seconds >= 60 && seconds % 60 === 0 ? `${seconds / 60} min` : `${seconds} s`;
}
