import { describe, expect, it } from 'vitest';
import { byExercise } from '../../src/followup/adherence.js';
import type { ProgramHistory } from '../../src/followup/history.js';
import { outcomesOf } from '../../src/followup/outcomes.js';
import { durationMsOf, exerciseEndMsOf } from '../../src/followup/times.js';
import { addDays } from '../../src/schedule/wallClock.js';
import { Life, today } from './happened.js';

const version = {
  ...{ number: 1, durationMs: 600_000, exerciseEndsMs: [200_000, 500_000] },
  easier: { shorter: { durationMs: 300_000, exerciseEndsMs: [100_000, 250_000] } },
};

describe('an easier session that was heard', () => {
  it('has times of its own, and none where they are not known', () => {
    expect(durationMsOf(version, { choice: null })).toBe(600_000);
    expect(durationMsOf(version, { choice: 'shorter' })).toBe(300_000);
    expect(durationMsOf(version, { choice: 'lighter' })).toBe(Number.POSITIVE_INFINITY);
    expect(durationMsOf(undefined, { choice: null })).toBe(Number.POSITIVE_INFINITY);
    expect(exerciseEndMsOf(version, 1, { choice: null })).toBe(500_000);
    expect(exerciseEndMsOf(version, 1, { choice: 'shorter' })).toBe(250_000);
    expect(exerciseEndMsOf(version, 2, { choice: 'shorter' })).toBe(Number.POSITIVE_INFINITY);
  });

  it('reaches its exercises where they end in it', () => {
    // A quarter of a usual session of ten minutes.
    const life = new Life(2)
      .listen(`${addDays(today, -2)}#1`, 0.25)
      .listen(`${addDays(today, -1)}#1`, 0.25, { choice: 'shorter' });
    const exercises = ['a', 'b'].map((id) => ({ exercise: { id, name: id } }));
    const program = { versions: [{ ...version, exercises }] } as unknown as ProgramHistory;
    const reached = byExercise(program, outcomesOf(life.happened));
    expect(reached.map((each) => [each.exerciseId, each.reached])).toEqual([
      ['a', 1],
      ['b', 0],
    ]);
  });
});
