import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readKept, readPrescription } from '../../src/prescription/content.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { programs } from '../script/arbitraries.js';

const catalogues = await readCatalogues('audio-templates');
const catalogue = catalogues.get('en');
if (catalogue === undefined) throw new Error('the tests need the English catalogue');

const content = (...exercises: object[]) => ({
  format: 'stillcount-prescription/1',
  program: { format: 'stillcount-program/1', title: 'Morning', exercises },
});
const kept = (value: unknown) => readKept(value, 'version 2', catalogues);

describe('a version that was kept', () => {
  it('is as it was signed where nothing is wrong with it, and otherwise refused to whoever would play it', () => {
    fc.assert(
      fc.property(programs(catalogue), (program) => {
        const value = { format: 'stillcount-prescription/1', program };
        const { shown, problems } = kept(value);
        const read = () => readPrescription(value, 'version 2', catalogues);
        if (problems.length === 0) expect(shown).toEqual(read());
        else expect(read).toThrow(problems[0]?.message);
      }),
      { numRuns: 50 },
    );
  });

  it('in an impossible order is shown whole, with place, found and allowed, and cannot be read to be played', () => {
    const value = content({ exercise: 'out-of-bed' }, { exercise: 'heel-slide', dose: { reps: 5 } });
    const { shown, problems } = kept(value);
    expect(shown?.program.exercises.map(({ exercise }) => exercise.id)).toEqual(['out-of-bed', 'heel-slide']);
    expect(problems).toEqual([
      {
        file: 'version 2',
        path: 'exercises[1].exercise',
        message:
          '“Heel slide” starts lying on the back, after “Getting out of bed” has led the listener out of lying',
        found: 'place 2, standing',
        allowed: 'a place before “Getting out of bed”, at most place 1',
      },
    ]);
    expect(() => readPrescription(value, 'version 2', catalogues)).toThrow('at most place 1');
  });

  it('with a dose outside today’s limits is shown as it was, and said to be outside', () => {
    const { shown, problems } = kept(content({ exercise: 'head-press', dose: { reps: 99 } }));
    expect(shown?.program.exercises[0]?.dose).toMatchObject({ reps: 99 });
    expect(problems).toMatchObject([{ path: 'exercises[0].dose.reps', found: '99' }]);
  });

  it.each([
    [
      'an exercise that is gone',
      content({ exercise: 'out-of-bed' }, { exercise: 'gone' }),
      'exercises[1].exercise',
    ],
    [
      'a dose that is gone',
      content({ exercise: 'head-press', dose: { liftSeconds: 3 } }),
      'exercises[0].dose.liftSeconds',
    ],
    ['no exercises', content(), 'exercises'],
    ['no program', { format: 'stillcount-prescription/1' }, 'program'],
    [
      'a language that is gone',
      { ...content(), program: { ...content({ exercise: 'head-press' }).program, language: 'xx' } },
      'language',
    ],
    ['nothing at all', null, ''],
  ])('with %s is not shown, and says why', (_case, value, path) => {
    const { shown, problems } = kept(value);
    expect(shown).toBeNull();
    expect(problems[0]?.path ?? '').toBe(path);
  });
});
