import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Exercise } from '../../src/catalogue/schema.js';
import { type Dose, type OnLadder, onLadder } from '../../src/followup/ladder.js';
import { doseUnder } from '../../src/program/adapt.js';
import type { PrescribedExercise } from '../../src/program/prescribed.js';
import { catalogues, version } from './histories.js';

const exercises = [...(catalogues.get('en')?.exercises.values() ?? [])];
const withSteps = exercises.filter(({ ladder }) => ladder.steps.length > 0);

const prescribed = (exercise: string, dose: Record<string, number> = {}) => {
  const [found] = version(1, 0, [{ exercise, dose }]).exercises ?? [];
  if (found === undefined) throw new RangeError('there is one exercise');
  return found;
};
/** The same prescribed with another dose, and done so. */
const withDose = (each: PrescribedExercise, dose: Dose) =>
  ({ ...each, dose, asPrescribed: { ...each.asPrescribed, dose } }) as PrescribedExercise;
const stands = (exercise: string, dose: Record<string, number> = {}) => onLadder(prescribed(exercise, dose));

/** Any dose inside its exercise's limits. */
const anyDose: fc.Arbitrary<PrescribedExercise> = fc
  .constantFrom(...withSteps)
  .chain((exercise: Exercise) =>
    fc
      .record(
        Object.fromEntries(
          Object.entries(exercise.limits as Record<string, { min: number; max: number }>).map(
            ([key, { min, max }]) => [key, fc.integer({ min: Math.ceil(min), max: Math.floor(max) })],
          ),
        ),
      )
      .map((dose) => withDose(prescribed(exercise.id), dose)),
  );

describe('the place of a dose on its ladder', () => {
  it('climbs from the usual dose to the top and down again, one step at a time', () => {
    // The ladder of the head press as the catalogue has it: 5; 8; 10; 2 of 8; 2 of 8 with holds of 8 s.
    const reps = [5, 8, 10, 8, 8];
    const climbed: Dose[] = [];
    let now = prescribed('head-press');
    for (let at = onLadder(now); ; at = onLadder(now)) {
      climbed.push(now.dose as Dose);
      if (at.next === null) break;
      now = withDose(now, at.next.dose);
      expect(onLadder(now).previous?.dose, 'down again').toEqual(climbed.at(-1));
    }
    expect(climbed.map((dose) => dose.reps)).toEqual(reps);
    expect(onLadder(now).place).toEqual({ kind: 'on', rung: 4, isTop: true });
    expect(stands('head-press').previous).toBeNull();
  });

  it('is below, between, above or off the rungs', () => {
    expect(stands('head-press', { reps: 4 })).toMatchObject({
      place: { kind: 'below' },
      next: { dose: { reps: 5 } },
      previous: null,
    });
    expect(stands('head-press', { reps: 9 })).toMatchObject({
      place: { kind: 'between', below: 1, above: 2 },
      next: { dose: { reps: 10 }, name: 'Ten presses' },
      previous: { dose: { reps: 8 } },
    });
    expect(stands('ankle-pumps', { sets: 3, reps: 20 }).place).toEqual({ kind: 'on', rung: 2, isTop: true });
    expect(stands('head-press', { sets: 3, reps: 12, holdSeconds: 10 })).toMatchObject({
      place: { kind: 'above' },
      next: null,
      previous: { dose: { sets: 2, reps: 8, holdSeconds: 8 } },
    });
    // Two rounds of four: more rounds than most rungs, fewer repetitions than all.
    expect(stands('head-press', { sets: 2, reps: 4 })).toEqual({
      place: { kind: 'off' },
      limits: [],
      next: null,
      previous: null,
    });
    expect(stands('log-roll')).toEqual({
      place: { kind: 'no-steps' },
      next: null,
      previous: null,
      limits: [],
    });
  });

  it('leaves what the ladder does not move as the clinician chose it', () => {
    expect(stands('heel-press', { restSeconds: 12 }).next?.dose).toMatchObject({ reps: 8, restSeconds: 12 });
  });

  it('ADV-6: leads to no rung that lies outside the limits, by one repetition', () => {
    const pumps = prescribed('ankle-pumps', { reps: 10 });
    const upTo = (max: number) => {
      const limits = { ...pumps.exercise.limits, reps: { min: 5, max } };
      return onLadder({ ...pumps, exercise: { ...pumps.exercise, limits } } as PrescribedExercise).next;
    };
    expect(upTo(15)?.dose).toMatchObject({ reps: 15 });
    expect(upTo(14)).toBeNull();
  });

  it('leads to nothing outside the limits, and to no dose that is less and more at once', () => {
    fc.assert(
      fc.property(anyDose, (each) => {
        const { place, next, previous } = onLadder(each);
        const limits: Readonly<Record<string, { min: number; max: number }>> = each.exercise.limits;
        for (const rung of [next, previous]) {
          if (rung === null) continue;
          expect(Object.keys(rung.dose).sort()).toEqual(Object.keys(each.dose).sort());
          for (const [key, value] of Object.entries(rung.dose)) {
            expect(value, key).toBeGreaterThanOrEqual(limits[key]?.min ?? Number.NaN);
            expect(value, key).toBeLessThanOrEqual(limits[key]?.max ?? Number.NaN);
          }
        }
        if (place.kind === 'on') return;
        const present: Dose = each.dose;
        for (const [key, value] of Object.entries(present)) {
          if (next !== null) expect(next.dose[key], `next ${key}`).toBeGreaterThanOrEqual(value);
          if (previous !== null) expect(previous.dose[key], `previous ${key}`).toBeLessThanOrEqual(value);
        }
      }),
      { numRuns: 300 },
    );
  });
});

describe('a ladder under a ceiling', () => {
  const limited = (dose: Record<string, number>, atMost: Record<string, number>) => {
    const [found] = version(1, 0, [{ exercise: 'heel-press', dose }]).exercises ?? [];
    if (found === undefined) throw new Error('heel-press is not there');
    const adaptations = [
      {
        ...{ ruleId: 'pressure', precaution: 'Pressure in the eye', measure: 'change' as const },
        ...{
          adaptation: { atMost, print: 'Hold for 5 seconds at most.', leaveOut: [], sayAs: 'limit' as const },
        },
        ...{ exercises: ['heel-press'], said: null },
      },
    ];
    const done = doseUnder({ ...found.dose }, found.exercise.limits, adaptations);
    return { ...found, adaptations, dose: { ...found.dose, ...done } } as PrescribedExercise;
  };

  it('has no step that raises a number above it, and says whose ceiling it is', () => {
    const usual = prescribed('heel-press').dose as Dose;
    const reps = usual.reps ?? 0;
    const { next, limits } = onLadder(limited({}, { reps }));
    expect(next).toBeNull();
    expect(limits).toEqual([{ precaution: 'Pressure in the eye', key: 'reps', ceiling: reps }]);
    // A ceiling on what the step leaves as it is stands against nothing.
    expect(onLadder(limited({}, { holdSeconds: 3 })).next).not.toBeNull();
  });

  it('steps down until what is done becomes less', () => {
    const [, first, second] = onLadderDoses('heel-press');
    if (first === undefined || second === undefined) throw new Error('heel-press has two steps');
    // Done is what the first step asks for: back to that changes nothing, only the usual dose does.
    const under = limited({ ...second }, { reps: first.reps ?? 0 });
    const { previous } = onLadder(under);
    expect(previous?.dose.reps).toBeLessThan((under.dose as Dose).reps ?? 0);
  });
});

/** The doses of an exercise's ladder, from the usual one up. */
function onLadderDoses(id: string): Dose[] {
  const doses: Dose[] = [];
  for (let now: PrescribedExercise | null = prescribed(id); now !== null; ) {
    doses.push(now.dose as Dose);
    const { next }: OnLadder = onLadder(now);
    now = next === null ? null : withDose(now, next.dose);
  }
  return doses;
}
