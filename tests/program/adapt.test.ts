import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { stringify } from 'yaml';
import { adaptationSchema } from '../../src/catalogue/adaptation.js';
import { doseFaults } from '../../src/catalogue/catalogue.js';
import { adaptProgram } from '../../src/program/adapt.js';
import { unmetCeilings, unmetKnees } from '../../src/program/adaptationEffects.js';
import { lighterProgram } from '../../src/program/easier.js';
import type { AppliedAdaptation, PrescribedProgram } from '../../src/program/prescribed.js';
import { readProgram } from '../../src/program/readProgram.js';
import { workSeconds } from '../../src/program/workSeconds.js';
import { lyingDownAndGettingUp } from '../../src/screening/findings.js';
import { buildScript } from '../../src/script/buildScript.js';
import type { TimedScript } from '../../src/script/timedScript.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { voiceOf } from '../script/arbitraries.js';

const catalogues = await readCatalogues('audio-templates');
const catalogue = catalogues.get('en');
if (catalogue === undefined) throw new Error('the tests need the English catalogue');

/** Exercises that begin and end on the back, so that any order of them is possible. */
const lying = [...catalogue.exercises.values()].filter(
  ({ path }) => path.from.position === 'supine' && path.to === undefined,
);
const voice = voiceOf(5, { min: 200, max: 300 });

const read = (program: object): PrescribedProgram =>
  readProgram(
    stringify({ format: 'stillcount-program/1', title: 'Morning', ...program }),
    'program.yaml',
    catalogues,
  );

const headSupports = ['none', 'folded-towel', 'thin-pillow', 'pillow', 'raised-head-end'] as const;
const programs = fc
  .record({
    setUp: fc.record({ headSupport: fc.constantFrom(...headSupports) }),
    exercises: fc.array(
      fc.constantFrom(...lying).chain((exercise) => {
        const limits: Readonly<Record<string, { min: number; max: number }>> = exercise.limits;
        const dose = Object.entries(limits).map(([key, { min, max }]) => [
          key,
          fc.integer({ min: Math.ceil(min), max: Math.floor(key === 'sets' ? Math.min(2, max) : max) }),
        ]);
        return fc.record({
          exercise: fc.constant(exercise.id),
          dose: fc.record(Object.fromEntries(dose), { requiredKeys: [] }),
        });
      }),
      { minLength: 1, maxLength: 4 },
    ),
  })
  .map(read);
const adaptations: fc.Arbitrary<AppliedAdaptation[]> = fc.uniqueArray(
  fc.record({
    ruleId: fc.constantFrom('a', 'b', 'c', 'd'),
    precaution: fc.constantFrom('Pressure in the eye', 'Reflux'),
    measure: fc.constantFrom('change' as const, 'clearance' as const),
    adaptation: fc.record(
      {
        print: fc.constant('Hold for 5 seconds at most.'),
        leaveOut: fc.constant([]),
        sayAs: fc.constantFrom('limit' as const, 'stop' as const, 'manner' as const),
        atMost: fc.record(
          {
            holdSeconds: fc.integer({ min: 1, max: 10 }),
            reps: fc.integer({ min: 1, max: 12 }),
            sets: fc.integer({ min: 1, max: 3 }),
            durationSeconds: fc.integer({ min: 20, max: 600 }),
          },
          { requiredKeys: [] },
        ),
        setUp: fc.record({ headSupport: fc.constantFrom(...headSupports) }, { requiredKeys: [] }),
        say: fc.constant({ full: 'Light effort only, and keep breathing.', short: null }),
      },
      { requiredKeys: ['print', 'leaveOut', 'sayAs'] },
    ),
    exercises: fc.subarray(lying.map(({ id }) => id)),
  }),
  { maxLength: 4, selector: ({ ruleId }) => ruleId },
);

describe('what was settled, carried out', () => {
  it('asks for no more work than prescribed, and keeps the limits of every exercise', () => {
    fc.assert(
      fc.property(programs, adaptations, (program, applied) => {
        const adapted = adaptProgram(program, applied);
        for (const [index, each] of adapted.exercises.entries()) {
          const before = program.exercises[index];
          if (before === undefined) throw new Error('no exercise comes or goes');
          const [done, written]: Record<string, number>[] = [{ ...each.dose }, { ...before.dose }];
          expect(Object.keys(done ?? {})).toEqual(Object.keys(written ?? {}));
          for (const [key, value] of Object.entries(done ?? {})) {
            expect(value, key).toBeLessThanOrEqual(written?.[key] ?? 0);
            if (key.endsWith('estSeconds')) expect(value, 'rests stay').toBe(written?.[key]);
          }
          expect(doseFaults({ ...each.dose }, each.exercise.limits, 'dose')).toEqual([]);
          expect(workSeconds(each, program.breath)).toBeLessThanOrEqual(workSeconds(before, program.breath));
        }
      }),
    );
  });

  it('is the same again, in any order, and is taken back whole', () => {
    fc.assert(
      fc.property(programs, adaptations, (program, applied) => {
        const once = adaptProgram(program, applied);
        expect(adaptProgram(once, applied)).toEqual(once);
        expect(adaptProgram(program, [...applied].reverse())).toEqual(once);
        expect(adaptProgram(once, [])).toEqual(program);
      }),
    );
  });

  it('leaves no head lower than the one before it in the same bed, unless it was written so', () => {
    fc.assert(
      fc.property(programs, adaptations, (program, applied) => {
        const adapted = adaptProgram(program, applied);
        for (const { setUp, asPrescribed, adaptations: own } of adapted.exercises) {
          const isAsked = own.some(({ adaptation }) => adaptation.setUp?.headSupport !== undefined);
          if (isAsked || asPrescribed.setUp.headSupport !== program.setUp.headSupport) continue;
          expect(setUp.headSupport).toBe(adapted.setUp.headSupport);
        }
      }),
    );
  });

  it('says every ceiling that an exercise cannot be brought down to', () => {
    fc.assert(
      fc.property(programs, adaptations, (program, applied) => {
        const adapted = adaptProgram(program, applied);
        const unmet = unmetCeilings(adapted);
        for (const { index, dose, adaptations: own } of adapted.exercises) {
          const done: Readonly<Record<string, number>> = dose;
          for (const { adaptation } of own) {
            for (const [key, ceiling = 0] of Object.entries(adaptation.atMost ?? {})) {
              const isAbove = (done[key] ?? 0) > ceiling;
              const isSaid = unmet.some(
                (each) => each.exerciseIndex === index && each.key === key && each.ceiling === ceiling,
              );
              expect(isSaid, `${key} ${ceiling}`).toBe(isAbove);
            }
          }
        }
      }),
    );
  });

  it('leaves as it is what an adaptation, or an exercise of a program, does not name', () => {
    const setUp = { surface: 'firm-bed', headSupport: 'pillow', knees: 'bent' };
    const program = read({ setUp, exercises: [{ exercise: 'head-press', setUp: { knees: 'straight' } }] });
    expect(program.exercises[0]?.setUp).toEqual({ ...setUp, knees: 'straight' });
    const adaptation = adaptationSchema.parse({ print: 'Over a pillow.', setUp: { knees: 'over-pillow' } });
    expect(adaptation.setUp).toEqual({ knees: 'over-pillow' });
    const exercises = ['head-press'];
    const applied = {
      ruleId: 'knees',
      precaution: 'Narrow',
      measure: 'change',
      adaptation,
      exercises,
    } as const;
    const adapted = adaptProgram(program, [applied]);
    expect(adapted.exercises[0]?.setUp).toEqual({ ...setUp, knees: 'over-pillow' });
    expect(adapted.setUp.headSupport).toBe('pillow');
  });

  it('says an exercise with straight legs under what asks for bent knees', () => {
    const ids = ['thigh-tightening', 'heel-slide', 'bridge', 'ankle-pumps'];
    const program = read({ exercises: ids.map((exercise) => ({ exercise })) });
    const under = (setUp: object) => {
      const adaptation = adaptationSchema.parse({ print: 'Knees bent.', setUp });
      const applied = {
        ruleId: 'knees',
        precaution: 'Narrow',
        measure: 'change',
        adaptation,
        exercises: ids,
      } as const;
      return unmetKnees(adaptProgram(program, [applied])).map(({ exerciseIndex }) => ids[exerciseIndex]);
    };
    expect(under({ knees: 'over-pillow' })).toEqual(['thigh-tightening']);
    expect(under({ knees: 'bent' })).toEqual(['thigh-tightening']);
    expect(under({ knees: 'straight' })).toEqual([]);
    expect(under({ headSupport: 'raised-head-end' })).toEqual([]);
    expect(unmetKnees(program)).toEqual([]);
  });

  it('stays in a lighter session', () => {
    fc.assert(
      fc.property(programs, adaptations, (program, applied) => {
        const adapted = adaptProgram(program, applied);
        const lighter = lighterProgram(adapted);
        for (const [index, each] of (lighter?.exercises ?? []).entries()) {
          expect(each.adaptations).toEqual(adapted.exercises[index]?.adaptations);
          const [less, whole]: Record<string, number>[] = [
            { ...each.dose },
            { ...adapted.exercises[index]?.dose },
          ];
          for (const [key, value] of Object.entries(less ?? {}))
            expect(value).toBeLessThanOrEqual(whole?.[key] ?? 0);
        }
      }),
    );
  });
});

const applied = (
  ruleId: string,
  adaptation: Partial<AppliedAdaptation['adaptation']>,
  exercises = ['head-press'],
): AppliedAdaptation => ({
  ...{ ruleId, precaution: `Precaution ${ruleId}`, measure: 'change', exercises },
  adaptation: { print: 'As shown.', leaveOut: [], sayAs: 'limit', ...adaptation },
});

describe('several adaptations of one exercise', () => {
  const program = read({
    exercises: [{ exercise: 'head-press', dose: { holdSeconds: 8 } }, { exercise: 'ankle-pumps' }],
  });

  it('give the lowest ceiling and the more protective set-up, and leave other exercises alone', () => {
    const adapted = adaptProgram(program, [
      applied('one', { atMost: { holdSeconds: 6 }, setUp: { headSupport: 'raised-head-end' } }),
      applied('two', { atMost: { holdSeconds: 5 }, setUp: { headSupport: 'folded-towel' } }),
    ]);
    expect(adapted.exercises[0]).toMatchObject({
      ...{ dose: { holdSeconds: 5 }, setUp: { headSupport: 'raised-head-end' } },
      asPrescribed: { dose: { holdSeconds: 8 }, setUp: { headSupport: 'folded-towel' } },
    });
    const [, other] = program.exercises;
    const sameBed = { ...other?.setUp, headSupport: 'raised-head-end' };
    expect(adapted.exercises[1], 'but for the bed, which is the same').toEqual({ ...other, setUp: sameBed });
    expect(adapted.setUp.headSupport, 'the opening lies them down so').toBe('raised-head-end');
  });

  it('never lower a head end that the clinician raised', () => {
    const raised = read({
      setUp: { headSupport: 'raised-head-end' },
      exercises: [{ exercise: 'head-press' }],
    });
    const adapted = adaptProgram(raised, [applied('one', { setUp: { headSupport: 'folded-towel' } })]);
    expect(adapted.exercises[0]?.setUp.headSupport).toBe('raised-head-end');
  });

  it('leave what they do not name as the program says, also where an exercise differs from it', () => {
    const exercises = [{ exercise: 'head-press' }, { exercise: 'ankle-pumps', setUp: { knees: 'straight' } }];
    const firm = { surface: 'firm-bed', headSupport: 'pillow', knees: 'over-pillow' } as const;
    const lain = read({ setUp: firm, exercises });
    expect(lain.exercises[1]?.setUp).toEqual({ ...firm, knees: 'straight' });
    const { setUp } = adaptationSchema.parse({ print: 'As shown.', setUp: { knees: 'over-pillow' } });
    if (setUp === undefined) throw new Error('it says how to lie');
    expect(adaptProgram(lain, [applied('one', { setUp })]).exercises[0]?.setUp).toEqual(firm);
    const raising = adaptationSchema.parse({ print: 'As shown.', setUp: { headSupport: 'raised-head-end' } });
    expect(raising.setUp).toEqual({ headSupport: 'raised-head-end' });
  });
});

describe('an adaptation as it is heard', () => {
  const sentence = 'Press only as hard as you would press a ripe peach.';
  const program = read({
    coaching: 'quiet',
    session: { number: 30, seed: 1 },
    exercises: [{ exercise: 'ankle-pumps' }, { exercise: 'head-press', note: 'Think of the door frame.' }],
  });
  const said = ({ cues }: TimedScript, text: string) => cues.filter((cue) => cue.text === text);

  it('is said before the exercise, after the note, in every session and in every time budget', async () => {
    const adapted = adaptProgram(program, [applied('one', { say: { full: sentence, short: null } })]);
    const whole = await buildScript(adapted, voice);
    const [cue, ...others] = said(whole, sentence);
    expect(others).toEqual([]);
    expect(cue).toMatchObject({ role: 'safety', exercise: 'head-press' });
    const note = said(whole, 'Think of the door frame.')[0];
    expect(cue?.startMs).toBeGreaterThan(note?.endMs ?? Number.POSITIVE_INFINITY);
    const work = whole.cues.find(({ role, exercise }) => role === 'prepare' && exercise === 'head-press');
    expect(cue?.endMs).toBeLessThan(work?.startMs ?? 0);
    const timeBudgetMinutes = Math.floor((whole.durationMs / 60_000) * 10 - 1) / 10;
    expect(said(await buildScript({ ...adapted, timeBudgetMinutes }, voice), sentence)).toHaveLength(1);
    expect(said(await buildScript(program, voice), sentence)).toEqual([]);
  });

  it('is said going down and getting up where no exercise of the program does either', async () => {
    const way = [lyingDownAndGettingUp.id];
    const adapted = adaptProgram(program, [applied('one', { say: { full: sentence, short: null } }, way)]);
    const cues = said(await buildScript(adapted, voice), sentence);
    expect(cues.map(({ exercise }) => exercise)).toEqual([undefined, undefined]);
  });

  it('leaves out the lines that it names, and no others', async () => {
    const exercise = program.catalogue.exercises.get('head-press');
    if (exercise === undefined) throw new Error('head-press is not there');
    const [line] = exercise.wording.safety;
    if (line === undefined) throw new Error('head-press has a line of safety');
    const tagged = { ...line, tag: 'peach' };
    const wording = { ...exercise.wording, safety: [tagged, ...exercise.wording.safety.slice(1)] };
    const changed = {
      ...program,
      exercises: program.exercises.map((each) =>
        each.exercise.id === 'head-press' ? { ...each, exercise: { ...each.exercise, wording } } : each,
      ) as PrescribedProgram['exercises'],
    };
    const safetyOf = async (each: PrescribedProgram) =>
      (await buildScript(each, voice)).cues.filter(
        ({ role, exercise: id }) => role === 'safety' && id === 'head-press',
      ).length;
    const without = adaptProgram(changed, [applied('one', { leaveOut: ['peach'] })]);
    expect(await safetyOf(without)).toBe((await safetyOf(changed)) - 1);
  });
});
