import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { stringify } from 'yaml';
import { doseFaults } from '../../src/catalogue/catalogue.js';
import { StillcountError } from '../../src/errors/stillcountError.js';
import { lighterProgram, shorterProgram } from '../../src/program/easier.js';
import type { PrescribedProgram } from '../../src/program/prescribed.js';
import { readProgram } from '../../src/program/readProgram.js';
import { workSeconds } from '../../src/program/workSeconds.js';
import { buildScript } from '../../src/script/buildScript.js';
import { dosesHeard } from '../../src/script/doseHeard.js';
import type { TimedScript } from '../../src/script/timedScript.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { isWhole } from '../long.js';
import { programs, voiceOf } from '../script/arbitraries.js';
import { expectedWork } from '../script/expected.js';

const catalogues = await readCatalogues('audio-templates');
const catalogue = catalogues.get('en');
if (catalogue === undefined) throw new Error('the tests need the English catalogue');

const read = (program: object): PrescribedProgram =>
  readProgram(
    stringify({ format: 'stillcount-program/1', title: 'Morning', ...program }),
    'program.yaml',
    catalogues,
  );
const dosesOf = (program: PrescribedProgram | null): Readonly<Record<string, number>>[] =>
  (program?.exercises ?? []).map(({ dose }) => dose);
const generated = programs(catalogue);
/** Any voice; each wording has one length. */
const voice = voiceOf(3, { min: 200, max: 300 });

describe('a lighter session', () => {
  it('has about half of the repetitions, and shorter holds', () => {
    const program = read({
      exercises: [
        { exercise: 'head-press', dose: { reps: 10, holdSeconds: 9 } },
        { exercise: 'head-press', dose: { sets: 3, reps: 10, holdSeconds: 5 } },
        { exercise: 'rest-arms-open', dose: { durationSeconds: 450 } },
        { exercise: 'bridge', dose: { reps: 7, holdSeconds: 3, liftSeconds: 4 } },
        { exercise: 'quiet-breathing', dose: { reps: 21 } },
      ],
    });
    expect(dosesOf(lighterProgram(program))).toMatchObject([
      { sets: 1, reps: 5, holdSeconds: 5, restSeconds: 5 },
      { sets: 3, reps: 5, holdSeconds: 3 },
      { durationSeconds: 240 },
      { sets: 1, reps: 4, holdSeconds: 2, liftSeconds: 4 },
      { reps: 11 },
    ]);
  });

  it('has fewer sets where an exercise allows no fewer repetitions', () => {
    // At least three repetitions, says the exercise: of two sets of three, one is left.
    const program = read({ exercises: [{ exercise: 'head-press', dose: { sets: 2, reps: 3 } }] });
    expect(dosesOf(lighterProgram(program))).toMatchObject([{ sets: 1, reps: 3 }]);
  });

  it('is none where nothing can be less', () => {
    const least = { sets: 1, reps: 3, holdSeconds: 3 };
    expect(lighterProgram(read({ exercises: [{ exercise: 'head-press', dose: least }] }))).toBeNull();
  });

  it('asks for no more of anything, keeps the limits, and changes nothing else', () => {
    let lighterCount = 0;
    fc.assert(
      fc.property(generated, (raw) => {
        const program = read(raw);
        const less = lighterProgram(program);
        if (less === null) return;
        lighterCount += 1;
        const { exercises: _all, ...settings } = program;
        const { exercises: _fewer, ...same } = less;
        expect(same).toEqual(settings);
        program.exercises.forEach((prescribed, index) => {
          const now = less.exercises[index];
          if (now === undefined) throw new RangeError('an exercise is missing');
          const { exercise, dose, ...choices } = prescribed;
          const { exercise: sameExercise, dose: lessDose, ...sameChoices } = now;
          expect(sameExercise).toBe(exercise);
          expect(sameChoices).toEqual(choices);
          const after: Readonly<Record<string, number>> = lessDose;
          expect(doseFaults(after, exercise.limits, 'dose')).toEqual([]);
          const grown = Object.entries(dose).filter(([key, value]) => (after[key] ?? value + 1) > value);
          expect(grown).toEqual([]);
          const work = { sets: 0, reps: 0, holdSeconds: 0, durationSeconds: 0 };
          expect({ ...after, ...work }).toEqual({ ...dose, ...work });
          expect(workSeconds(now, less.breath)).toBeLessThanOrEqual(workSeconds(prescribed, program.breath));
        });
      }),
      { numRuns: 150 },
    );
    expect(lighterCount).toBeGreaterThan(100);
  });

  it('leaves about half of the repetitions of an exercise, or the fewest that it allows', () => {
    fc.assert(
      fc.property(generated, (raw) => {
        const program = read(raw);
        const after = dosesOf(lighterProgram(program));
        program.exercises.forEach(({ dose, exercise }, index) => {
          const before: Readonly<Record<string, number>> = dose;
          const now = after[index];
          if (now === undefined || before.sets === undefined || before.reps === undefined) return;
          const [all, left] = [before.sets * before.reps, (now.sets ?? 0) * (now.reps ?? 0)];
          expect(left).toBeGreaterThanOrEqual(all / 2);
          const limits: Readonly<Record<string, { min: number }>> = exercise.limits;
          // Rounding up leaves at most one repetition in each set, or one set, over the half.
          const over = Math.max(now.sets ?? 0, now.reps ?? 0, limits.reps?.min ?? 0);
          expect(left).toBeLessThanOrEqual(all / 2 + over);
        });
      }),
      { numRuns: 150 },
    );
  });
});

describe('an easier session as it is heard', () => {
  const safetyOf = ({ cues }: TimedScript) =>
    cues.filter(({ role }) => role === 'safety').map(({ chapter, text }) => `${chapter} ${text}`);
  /** How many lines of safety each part has: in few minutes they are said in fewer words. */
  const safetyCountsOf = ({ cues, chapters }: TimedScript) =>
    chapters.map((_, at) => cues.filter(({ role, chapter }) => role === 'safety' && chapter === at).length);
  /** Null where words have no room, which is refused, or where there is nothing easier. */
  const built = async (program: PrescribedProgram | null) => {
    if (program === null) return null;
    return buildScript(program, voice).catch((error: unknown) => {
      if (error instanceof StillcountError) return null;
      throw error;
    });
  };

  it('says every word of safety, holds its own dose, and takes no longer', async () => {
    let count = 0;
    await fc.assert(
      fc.asyncProperty(generated, async (raw) => {
        const program = read(raw);
        const [whole, lighter] = [await built(program), await built(lighterProgram(program))];
        if (whole === null || lighter === null) return;
        count += 1;
        expect(safetyOf(lighter)).toEqual(safetyOf(whole));
        const work = dosesHeard(lighter).map(({ work: heard }) => heard.length);
        const less = lighterProgram(program) ?? program;
        expect(work).toEqual(less.exercises.map((each) => expectedWork(each, less).length));
        expect(lighter.durationMs).toBeLessThanOrEqual(whole.durationMs);
      }),
      { numRuns: 40 },
    );
    expect(count).toBeGreaterThan(15);
  });

  it('that is shorter keeps to its minutes and says every word of safety', async () => {
    const numRuns = isWhole('programs') ? 90 : 60;
    let count = 0;
    await fc.assert(
      fc.asyncProperty(generated, fc.integer({ min: 4, max: 15 }), async (raw, minutes) => {
        const program = read(raw);
        const whole = await built(program);
        const shorter = await built(shorterProgram(program, minutes));
        if (whole === null || shorter === null) return;
        count += 1;
        expect(safetyCountsOf(shorter)).toEqual(safetyCountsOf(whole));
        expect(shorter.durationMs).toBeLessThanOrEqual(Math.min(whole.durationMs, minutes * 60_000));
      }),
      { numRuns },
    );
    expect(count).toBeGreaterThan(numRuns / 6);
  });

  it('that is shorter is none where the program keeps to fewer minutes already', () => {
    const program = read({ exercises: [{ exercise: 'head-press' }], timeBudgetMinutes: 10 });
    expect(shorterProgram(program, 10)).toBeNull();
    expect(shorterProgram(program, 9)?.timeBudgetMinutes).toBe(9);
  });
});
