import type { SideChoice } from '../program/schema.js';
import type { Side } from './timedScript.js';

/** One repetition of a set. `rep` counts from 1 on each side. */
export type Repetition = { rep: number; side: Side | null };

/** A set as performed, with no break in it to announce another side. */
export type WorkSet = {
  /** Counts from 1 on each side. */
  set: number;
  /** The side to announce before the set; null when there is none or the sides alternate. */
  side: Side | null;
  repetitions: readonly Repetition[];
};

/**
 * Returns every repetition in the order it is performed. Sets and repetitions count per side: `both` does all sets of
 * the left side and then all of the right, `alternate` switches sides with every repetition.
 */
export function workSets(choice: SideChoice | null, sets: number, reps: number): WorkSet[] {
  const numbers = (count: number) => Array.from({ length: count }, (_, index) => index + 1);
  if (choice === 'alternate') {
    const repetitions = numbers(reps).flatMap((rep): Repetition[] => [
      { rep, side: 'left' },
      { rep, side: 'right' },
    ]);
    return numbers(sets).map((set) => ({ set, side: null, repetitions }));
  }
  const sides: (Side | null)[] = choice === null ? [null] : choice === 'both' ? ['left', 'right'] : [choice];
  return sides.flatMap((side) =>
    numbers(sets).map((set) => ({ set, side, repetitions: numbers(reps).map((rep) => ({ rep, side })) })),
  );
}
