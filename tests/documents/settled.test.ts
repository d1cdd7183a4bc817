import { describe, expect, it } from 'vitest';
import { handout } from '../../src/documents/handout.js';
import { plainText } from '../../src/documents/plainText.js';
import { reportAdaptations } from '../../src/documents/settledFor.js';
import type { ReadPrescription } from '../../src/prescription/content.js';
import { readPrescription } from '../../src/prescription/content.js';
import { timetableInWords } from '../../src/schedule/inWords.js';
import type { ScreeningAnswers } from '../../src/screening/answers.js';
import { findingsOf, lyingDownAndGettingUp, meets } from '../../src/screening/findings.js';
import type { Rule } from '../../src/screening/interview.js';
import { type Settlement, settlementSchema, withRules } from '../../src/screening/settlements.js';
import { buildScript } from '../../src/script/buildScript.js';
import { readInterview } from '../../src/session/readClinicWords.js';
import { voiceOf } from '../script/arbitraries.js';
import { catalogue, catalogues, texts, warningSigns, words } from './papers.js';

if (catalogue === undefined) throw new Error('the tests need the English catalogue');
const exercises = [...catalogue.exercises.values()];
const interview = await readInterview('audio-templates', catalogues);
const today = '2026-11-26';
const voice = voiceOf(3, { min: 150, max: 200 });

type Settled = { precautionId: string; rule: Rule; settlement: Partial<Settlement> | null };

/** A program of one exercise at its largest dose, in which one rule of one precaution is settled. */
function prescriptionWith(id: string, { precautionId, rule, settlement }: Settled): ReadPrescription {
  const exercise = exercises.find((each) => each.id === id);
  if (exercise === undefined) throw new Error(`there is no ${id}`);
  const limits: Readonly<Record<string, { max: number }>> = exercise.limits;
  const dose = Object.fromEntries(Object.entries(limits).map(([key, { max }]) => [key, Math.floor(max)]));
  // The way out of bed that starts on the edge needs one that leads there.
  const before =
    exercise.path.from.position === 'sitting-on-edge' && exercise.path.to?.position !== 'supine'
      ? ['log-roll']
      : [];
  const program = {
    format: 'stillcount-program/1',
    title: 'Mornings',
    exercises: [...before.map((each) => ({ exercise: each })), { exercise: id, dose }],
  };
  const answers: ScreeningAnswers = { [precautionId]: { answer: 'yes', details: '' } };
  const own = interview.precautions.find((each) => each.id === precautionId);
  const precautions = own === undefined ? [] : [{ ...own, rules: [rule] }];
  const findings = findingsOf(answers, [exercise, lyingDownAndGettingUp], { ...interview, precautions });
  const met = findings.flatMap((finding) => finding.exercises);
  const kept = settlementSchema.parse({ exercises: met, answered: 'yes', ...settlement });
  const settlements = withRules(settlement === null ? {} : { [rule.id]: kept }, findings, today);
  // As it is kept and read again.
  const content = JSON.parse(JSON.stringify({ format: 'stillcount-prescription/1', settlements, program }));
  return readPrescription(content, 'a test', catalogues);
}

function followed({ measure }: Rule): Partial<Settlement> {
  return measure === 'change' ? { isArranged: true } : { clearedBy: 'Dr. Lee', clearedOn: '2026-11-20' };
}

const printed = (prescription: ReadPrescription) =>
  plainText(
    handout(texts, {
      clinic: { name: 'Quillmere', phone: '', emergencyNumber: '144', zone: 'Europe/Vienna' },
      ...{ personName: 'Rosa Lind', programTitle: 'Mornings', prescription, warningSigns },
      ...{ signedAtMs: Date.UTC(2026, 10, 26), madeAtMs: Date.UTC(2026, 10, 26, 9) },
      ...{ timetable: timetableInWords(prescription, words.schedule), access: null, pageSize: null },
      ...{ isLargePrint: false, ticksEachDay: 0 },
    }).blocks,
  ).replaceAll(/\s+/g, ' ');

const heard = async ({ program }: ReadPrescription) =>
  (await buildScript({ ...program, session: { number: 30, seed: 1 } }, voice)).cues.map(
    ({ role, text }) => `${role} ${text ?? ''}`,
  );

/** What a set-up is called on the handout, written out by hand; the knees are also led to in the session. */
const onHandout: Readonly<Record<string, string>> = {
  'raised-head-end': 'The head end of the bed raised.',
  pillow: 'A pillow under your head.',
  'over-pillow': 'A pillow under your knees.',
};
const kneePillowLed = /slide the pillow in under (them|your knees)/i;

/** Whether an exercise can be done with the knees over a pillow: not every one on the back is. */
function allowsKneePillow(id: string): boolean {
  const from = catalogue?.exercises.get(id)?.path.from;
  return from?.position === 'supine' && (from.legs?.includes('over-pillow') ?? true);
}

/**
 * Exercises that stand for all that a rule meets: the first one, the first one with a number that has a ceiling, and
 * the first one that can be done with the knees as the rule wants them.
 */
function sample({ adapt }: Rule, ids: readonly string[]): string[] {
  const ceilings = Object.keys(adapt?.atMost ?? {});
  const limited = ids.find((id) =>
    Object.keys(catalogue?.exercises.get(id)?.dose ?? {}).some((key) => ceilings.includes(key)),
  );
  const lain = adapt?.setUp?.knees === 'over-pillow' ? ids.find(allowsKneePillow) : undefined;
  const first = ids[0] ?? 'ankle-pumps';
  return [...new Set([first, limited ?? first, lain ?? first])];
}

const bothArms = /both (of your )?arms/i;
const oneLine = (text: string) => text.replaceAll(/\s+/g, ' ').trim();

/** Every rule of the interview that changes something, with the exercises that it meets. */
const acting = interview.precautions.flatMap(({ id: precautionId, name, rules }) =>
  rules
    .filter(({ adapt, measure }) => adapt !== undefined && measure !== 'leave-out')
    .map((rule) => ({ precautionId, name, rule })),
);

describe.each(acting.map((each) => [each.rule.id, each] as const))('the rule %s', (_id, each) => {
  const { precautionId, name, rule } = each;
  const met = findingsOf(
    { [precautionId]: { answer: 'yes', details: '' } },
    [...exercises, lyingDownAndGettingUp],
    {
      ...interview,
      precautions: interview.precautions
        .filter(({ id }) => id === precautionId)
        .map((own) => ({ ...own, rules: [rule] })),
    },
  ).flatMap((finding) => finding.exercises);
  const ids = met.filter((id) => id !== lyingDownAndGettingUp.id);

  it('changes the handout when it is settled, and the sound where it says so', async () => {
    expect(met.length, 'it meets something').toBeGreaterThan(0);
    for (const id of sample(rule, ids)) {
      const [off, on, otherwise] = [null, followed(rule), { reason: 'Seen and borne.' }].map((settlement) =>
        prescriptionWith(id, { precautionId, rule, settlement }),
      );
      if (off === undefined || on === undefined || otherwise === undefined) throw new Error('three of them');
      const { adapt } = rule;
      if (adapt === undefined) throw new Error('only rules that change something');
      expect(printed(on), id).toContain(oneLine(`${name}.`));
      expect(printed(on), id).toContain(oneLine(adapt.print));
      if (rule.measure === 'clearance') expect(printed(on), id).toContain('Cleared by Dr. Lee on');
      for (const without of [off, otherwise])
        expect(printed(without), id).not.toContain(oneLine(adapt.print));
      for (const tag of adapt.leaveOut) {
        const path = prescriptionWith('log-roll', { precautionId, rule, settlement: followed(rule) });
        expect((await heard(path)).join(' '), `${id}: ${tag}`).not.toMatch(bothArms);
        expect(printed(path), `${id}: ${tag}, on the handout`).not.toMatch(bothArms);
      }
      expect(otherwise.program.exercises, 'a reason to do otherwise changes nothing').toEqual(
        off.program.exercises,
      );
      const isHeard = adapt.say !== undefined || adapt.atMost !== undefined;
      const [before, after] = isHeard ? [await heard(off), await heard(on)] : [[], []];
      if (adapt.say !== undefined) {
        const { full, short } = adapt.say;
        expect(after, id).toContain(`safety ${oneLine(short ?? full)}`);
        expect(before, id).not.toContain(`safety ${oneLine(short ?? full)}`);
      }
      const [was, is] = [off.program.exercises.at(-1), on.program.exercises.at(-1)];
      for (const [key, ceiling = 0] of Object.entries(adapt.atMost ?? {})) {
        const [then, now]: Readonly<Record<string, number>>[] = [{ ...was?.dose }, { ...is?.dose }];
        const dose = then?.[key];
        if (dose === undefined || dose <= ceiling) continue;
        expect(now?.[key], `${id}: ${key} can be brought down to the ceiling`).toBeLessThanOrEqual(ceiling);
        expect(after, id).not.toEqual(before);
      }
      const { headSupport, knees } = adapt.setUp ?? {};
      if (headSupport !== undefined && ids.length > 0) {
        expect(is?.setUp.headSupport, id).toBe(headSupport);
        expect(printed(on), id).toContain(onHandout[headSupport]);
        expect(printed(off), id).not.toContain(onHandout[headSupport]);
      }
      if (knees === undefined || !allowsKneePillow(id)) continue;
      expect(knees, 'the only one that a rule asks for').toBe('over-pillow');
      expect(is?.setUp.knees, id).toBe(knees);
      expect((await heard(on)).join(' '), id).toMatch(kneePillowLed);
      expect((await heard(off)).join(' '), id).not.toMatch(kneePillowLed);
      expect(printed(on), id).toContain(onHandout[knees]);
      expect(printed(off), id).not.toContain(onHandout[knees]);
    }
    if (rule.adapt?.setUp?.knees !== undefined) expect(ids.some(allowsKneePillow)).toBe(true);
  });
});

it('without such a rule the voice asks for both arms on the way up', async () => {
  const settled = { precautionId: 'none', rule: acting[0]?.rule, settlement: null };
  if (settled.rule === undefined) throw new Error('there are rules');
  const said = await heard(prescriptionWith('log-roll', { ...settled, rule: settled.rule }));
  expect(said.join(' ')).toMatch(bothArms);
});

describe('what a clinician reads of an adaptation', () => {
  const [first] = acting;
  if (first === undefined) throw new Error('there are rules');
  const reported = (say: string) => {
    const adapt = {
      print: 'Head raised.',
      leaveOut: [],
      sayAs: 'limit' as const,
      say: { full: say, short: null },
    };
    const rule: Rule = { ...first.rule, adapt, everything: true };
    const { program } = prescriptionWith('head-press', { ...first, rule, settlement: followed(rule) });
    return program.exercises.flatMap(reportAdaptations).map(({ changes }) => changes);
  };

  it('has the program’s own values, and one full stop where a sentence ends', () => {
    expect(reported('Your head lies on {{headSupport}}.')).toEqual([
      expect.stringMatching(/says “Your head lies on [a-z][a-z ]+”$/),
    ]);
    expect(reported('Is it {{#kneesBent}}bent{{/kneesBent}}{{^kneesBent}}not bent{{/kneesBent}}?')).toEqual([
      expect.stringMatching(/says “Is it (not )?bent\?”$/),
    ]);
  });

  it('has neither two full stops nor an empty place, for every rule', () => {
    for (const { precautionId, rule } of acting) {
      const settled = { precautionId, rule, settlement: followed(rule) };
      for (const id of sample(rule, findableIn(rule)))
        for (const { changes } of prescriptionWith(id, settled).program.exercises.flatMap(reportAdaptations))
          expect(`${changes}.`, rule.id).not.toMatch(/\.”|\.\.|\{\{| [.,]|“”/);
    }
  });
});

/** Exercises of the catalogue that a rule may meet. */
function findableIn(rule: Rule): string[] {
  return exercises.filter((exercise) => meets(rule, exercise)).map(({ id }) => id);
}

describe('the handout of somebody', () => {
  it('says once what holds for all, and once what several precautions ask for alike', () => {
    const yes = { answer: 'yes', details: '' } as const;
    const answers: ScreeningAnswers = {
      ...{ 'memory-problems': yes, osteoporosis: yes, 'treated-blood-pressure': yes, 'heart-rhythm': yes },
    };
    const ids = ['head-press', 'buttock-tightening', 'quiet-breathing'];
    const loaded = exercises.filter(({ id }) => ids.includes(id));
    const findings = findingsOf(answers, [...loaded, lyingDownAndGettingUp], interview);
    const kept = findings.map(({ rule, exercises: met }) => [
      rule.id,
      settlementSchema.parse({ exercises: met, answered: 'yes', ...followed(rule) }),
    ]);
    const settlements = withRules(Object.fromEntries(kept), findings, today);
    const program = {
      ...{ format: 'stillcount-program/1', title: 'Mornings' },
      exercises: ids.map((exercise) => ({ exercise })),
    };
    const content = { format: 'stillcount-prescription/1', settlements, program };
    const text = printed(readPrescription(JSON.parse(JSON.stringify(content)), 'a test', catalogues));
    expect(text.split('Have someone stay near and answer with you.')).toHaveLength(2);
    expect(text).toContain('Every time, for you');
    expect(
      text.split('Keep it light, at most 5 seconds. Keep breathing.'),
      'under two exercises',
    ).toHaveLength(3);
    expect(text).toMatch(
      /Irregular heartbeat; High blood pressure, treated\. Keep it light, at most 5 seconds/,
    );
  });

  it('has nobody’s precautions but their own, and no general list', () => {
    for (const { id, path, cautions } of exercises) {
      if (path.from.position !== 'supine') continue;
      const program = { format: 'stillcount-program/1', title: 'Mornings', exercises: [{ exercise: id }] };
      const read = readPrescription({ format: 'stillcount-prescription/1', program }, 'a test', catalogues);
      const text = printed(read);
      expect(text, id).not.toMatch(/not until cleared|leave out until/i);
      for (const caution of cautions) expect(text, id).not.toContain(oneLine(caution));
    }
  });

  it('whose version was signed before rules changed programs says what was arranged, and sounds as it did', async () => {
    const program = {
      format: 'stillcount-program/1',
      title: 'Mornings',
      exercises: [{ exercise: 'head-press' }],
    };
    const how = 'Light press, low pillow.';
    const settlements = {
      'some-rule': {
        ...{ exercises: ['head-press'], answered: 'yes', isArranged: true },
        rule: { precaution: 'Pressure in the eye', measure: 'change', how },
      },
    };
    const format = 'stillcount-prescription/1';
    const before = readPrescription({ format, program }, 'a test', catalogues);
    const after = readPrescription({ format, program, settlements }, 'a test', catalogues);
    expect(await heard(after)).toEqual(await heard(before));
    expect(printed(after)).toContain(`Pressure in the eye. ${how}`);
  });
});
