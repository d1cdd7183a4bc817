import { readFile } from 'node:fs/promises';
import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import type { Exercise } from '../../src/catalogue/schema.js';
import { spokenTags } from '../../src/catalogue/spokenTags.js';
import { loadTags } from '../../src/catalogue/wording.js';
import {
  answerKinds,
  carriedOver,
  oldestAnswerAtMs,
  type ScreeningAnswers,
  unanswered,
  withNames,
} from '../../src/screening/answers.js';
import { findingsOf } from '../../src/screening/findings.js';
import {
  type Interview,
  isUrgent,
  measures,
  parseInterview,
  questionsOf,
} from '../../src/screening/interview.js';
import { isSettled, listUnsettled, settlementSchema } from '../../src/screening/settlements.js';
import { readCatalogues } from '../../src/session/readCatalogues.js';
import { readInterview } from '../../src/session/readClinicWords.js';
import { refusalOf } from '../refusal.js';

const templates = 'audio-templates';
let interview: Interview;
let exercises: Exercise[];
let ids: string[];

beforeAll(async () => {
  const catalogues = await readCatalogues(templates);
  interview = await readInterview(templates, catalogues);
  exercises = [...(catalogues.get('en')?.exercises.values() ?? [])];
  ids = interview.precautions.map(({ id }) => id);
});

const yes = (id: string): ScreeningAnswers => ({ [id]: { answer: 'yes', details: '' } });
const none = (): ScreeningAnswers => Object.fromEntries(ids.map((id) => [id, { answer: 'no', details: '' }]));

describe('answers and rules', () => {
  it('find nothing for somebody without precautions, and the same for “not sure” as for “yes”', () => {
    const loaded = [...exercises, { id: 'all-loads', loadTags }];
    expect(findingsOf(none(), loaded, interview)).toEqual([]);
    for (const id of ids) {
      const unsure: ScreeningAnswers = { ...none(), [id]: { answer: 'unsure', details: '' } };
      const sure = findingsOf({ ...none(), ...yes(id) }, loaded, interview);
      expect(sure.length, id).toBeGreaterThan(0);
      const same = sure.map((finding) => ({ ...finding, answered: 'unsure' }));
      expect(findingsOf(unsure, loaded, interview), id).toEqual(same);
    }
  });

  it('never find less when more is answered with yes, and put the strictest first', () => {
    fc.assert(
      fc.property(
        fc.array(fc.constantFrom(...ids)),
        fc.constantFrom(...ids),
        fc.subarray(exercises),
        (some, more, program) => {
          const answers = Object.assign(none(), ...some.map(yes));
          const before = findingsOf(answers, program, interview);
          const after = findingsOf({ ...answers, ...yes(more) }, program, interview);
          for (const finding of before) expect(after).toContainEqual(finding);
          const order = after.map(({ rule }) => (rule.stop ? -1 : measures.indexOf(rule.measure)));
          expect(order).toEqual([...order].sort((a, b) => a - b));
          for (const finding of after) {
            expect(finding.exercises.length).toBeGreaterThan(0);
            expect(program.map(({ id }) => id)).toEqual(expect.arrayContaining([...finding.exercises]));
          }
        },
      ),
    );
  });

  it('know what has not been asked yet, also when the interview has grown', () => {
    expect(unanswered(none(), interview)).toEqual([]);
    const { osteoporosis: _osteoporosis, ...rest } = none();
    expect(unanswered(rest, interview).map(({ id }) => id)).toEqual(['osteoporosis']);
    expect(answerKinds).toEqual(['yes', 'unsure', 'no']);
  });

  it('know that a question which has come to mean more is open again, until it is asked', () => {
    const asked = withNames(none(), interview);
    expect(unanswered(asked, interview)).toEqual([]);
    for (const answer of answerKinds) {
      const narrower = { ...asked, 'calf-signs': { answer, details: '', asked: 'Swollen calf' } };
      expect(unanswered(narrower, interview).map(({ id }) => id)).toEqual(['calf-signs']);
      const kept = withNames(carriedOver(narrower, 1), interview);
      expect(kept['calf-signs']?.asked, 'not said to have been asked what it was not').toBe('Swollen calf');
      expect(unanswered(kept, interview).map(({ id }) => id)).toEqual(['calf-signs']);
      const found = findingsOf(kept, exercises, interview);
      expect(found.length > 0, 'a yes holds meanwhile').toBe(answer !== 'no');
    }
    const urgent = interview.precautions.filter(isUrgent).map(({ id }) => id);
    expect(urgent).toContain('calf-signs');
  });
});

describe('SCREEN-4: answers of an earlier interview', () => {
  const day = fc.nat({ max: 4e12 });
  const answers = fc.dictionary(
    fc.constantFrom('fever', 'osteoporosis', 'rheumatoid', 'night-pain'),
    fc.record({ answer: fc.constantFrom(...answerKinds), details: fc.constant('') }),
    { minKeys: 1 },
  );

  it('SCREEN-4: keep the day on which they were given, however often they are carried over', () => {
    fc.assert(
      fc.property(answers, day, day, day, (given, takenMs, laterMs, latestMs) => {
        const once = carriedOver(given, takenMs);
        const twice = carriedOver(once, laterMs);
        expect(twice).toEqual(once);
        expect(Object.values(twice).every(({ askedAtMs }) => askedAtMs === takenMs)).toBe(true);
        expect(oldestAnswerAtMs(twice, latestMs)).toBe(Math.min(takenMs, latestMs));
      }),
    );
  });

  it('SCREEN-4: make the interview that holds them as old as the oldest of them', () => {
    const no = { answer: 'no', details: '' } as const;
    expect(oldestAnswerAtMs({ fever: no, osteoporosis: { ...no, askedAtMs: 5 } }, 9)).toBe(5);
    expect(oldestAnswerAtMs({ fever: no }, 9)).toBe(9);
    expect(oldestAnswerAtMs({}, 9)).toBe(9);
  });
});

describe('a finding', () => {
  const today = '2026-11-25';
  const find = (precaution: string, ruleId: string) => {
    const found = findingsOf(yes(precaution), exercises, interview).find(({ rule }) => rule.id === ruleId);
    if (found === undefined) throw new Error(`no finding ${ruleId}`);
    return found;
  };
  const settled = (finding: ReturnType<typeof find>, settlement: object) => {
    const full = settlementSchema.parse({
      exercises: [...finding.exercises],
      answered: finding.answered,
      ...settlement,
    });
    return isSettled(finding, { [finding.rule.id]: full }, today);
  };

  it('of each kind is settled by what its kind asks for, and by nothing less', () => {
    const change = find('osteoporosis', 'osteoporosis-stretch');
    const clearance = find('hip-operation', 'hip-operation-turning');
    const leaveOut = find('spinal-fracture', 'spinal-fracture-bending');
    const signed = { clearedBy: 'Dr Fenn', clearedOn: '2026-11-20' };
    for (const finding of [change, clearance, leaveOut]) {
      expect(isSettled(finding, {}, today)).toBe(false);
      expect(settled(finding, {})).toBe(false);
      expect(settled(finding, { reason: 'Agreed with the team' })).toBe(true);
      expect(settled(finding, { reason: 'Agreed', exercises: finding.exercises.slice(1) })).toBe(false);
    }
    expect(settled(change, { isArranged: true })).toBe(true);
    expect(settled(change, signed)).toBe(false);
    expect(settled(clearance, signed)).toBe(true);
    expect(settled(clearance, { clearedBy: 'Dr Fenn' })).toBe(false);
    expect(settled(clearance, { clearedOn: '2026-11-20' })).toBe(false);
    expect(settled(clearance, { ...signed, clearedOn: '2026-11-26' }), 'not before that day').toBe(false);
    expect(settled(clearance, { ...signed, clearedOn: '2025-11-24' }), 'not for ever').toBe(false);
    expect(settled(clearance, { ...signed, clearedOn: '2025-11-25' }), 'a year to the day').toBe(true);
    expect(settled(clearance, { ...signed, clearedOn: today }), 'from its own day').toBe(true);
    expect(settled(clearance, { ...signed, answered: 'yes: the other hip' })).toBe(false);
    expect(settled(clearance, { isArranged: true })).toBe(false);
    for (const blank of [' ', '\u200b', '.']) {
      expect(settled(leaveOut, { reason: blank })).toBe(false);
      expect(settled(clearance, { ...signed, clearedBy: blank })).toBe(false);
    }
    const stop = find('calf-signs', 'calf-signs-first');
    expect(settled(stop, { reason: 'She wants to', isArranged: true, ...signed }), 'never').toBe(false);
    expect(settled(leaveOut, { isArranged: true, ...signed }), 'only a reason keeps it in').toBe(false);
    expect(listUnsettled([change, clearance], {}, today)).toEqual([change, clearance]);
  });
});

describe('what settling a rule changes', () => {
  const rules = () => interview.precautions.flatMap((precaution) => precaution.rules);

  it('is said for every rule that can be settled by doing it another way, or by clearance', () => {
    for (const { id, measure, adapt } of rules()) {
      if (measure === 'leave-out') expect(adapt, id).toBeUndefined();
      else expect(adapt?.print, id).toMatch(/[.]$/);
    }
  });

  it('is told to the patient in short plain sentences, before an exercise in at most 15 words', () => {
    for (const { id, adapt } of rules()) {
      const sentences = adapt?.print.split(/(?<=[.:;])\s+/) ?? [];
      for (const sentence of sentences)
        expect(sentence.split(' ').length, `${id}: ${sentence}`).toBeLessThan(16);
      expect(adapt?.print ?? '', id).not.toMatch(/\b(this person|the clinician|log roll|supine)\b/i);
      for (const said of [adapt?.say?.full, adapt?.say?.short]) {
        if (said) expect(said.split(' ').length, `${id}: ${said}`).toBeLessThan(16);
      }
    }
  });
});

describe('the screens of the interview', () => {
  it('hold every question once, what stops first, and each question asks with a question mark', () => {
    const shown = interview.systems.flatMap(({ id }) => questionsOf(interview, id));
    expect(shown).toEqual(interview.precautions);
    const [first] = interview.systems;
    for (const { id, system, ask, rules, askAlone } of interview.precautions) {
      expect(ask.match(/\?/g), `${id} asks once`).toHaveLength(1);
      if (!rules.some(({ stop }) => stop)) continue;
      expect(system, id).toBe(first?.id);
      expect(askAlone, id).toBe(true);
    }
  });
});

describe('a file of precautions', () => {
  it('that is wrong is named with the place', async () => {
    const file = `${templates}/en/precautions.yaml`;
    const text = await readFile(file, 'utf8');
    const catalogue = (await readCatalogues(templates)).get('en');
    if (catalogue === undefined) throw new Error('the tests need the English catalogue');
    const known = { exerciseIds: new Set(exercises.map(({ id }) => id)), tags: spokenTags(catalogue) };
    const refused = (changed: string) => refusalOf(() => parseInterview(changed, file, known));
    expect(parseInterview(text, file, known)).toEqual(interview);
    expect(refused(text.replace('measure: leave-out', 'measure: forbid'))).toMatch(
      /precautions\.yaml, line \d+, precautions\[0\]\.rules\[0\]\.measure/,
    );
    expect(refused(text.replace('loads: [spinal-flexion,', 'loads: [spinal-flexing,'))).toContain('loads');
    expect(refused(text.replace('exercises: [bridge]', 'exercises: [brigde]'))).toContain('brigde');
    const lasting = text.replace('    system: right-now\n', '    system: right-now\n    lasting: true\n');
    expect(refused(lasting)).toContain('what cannot wait is asked anew each time');
    expect(refused(text.replace('id: osteoporosis-nod', 'id: osteoporosis-bending'))).toContain('twice');
    expect(refused(text.replace('        clearedBy: the surgeon\n', ''))).toContain('clearedBy');
    expect(refused(text.replace('system: spine', 'system: spin'))).toContain('there is no such system');
    expect(refused(text.replace('system: spine', 'system: heart'))).toContain('a later system');
    expect(refused(text.replace('systems:\n', 'systems:\n  - { id: teeth, name: Teeth }\n'))).toContain(
      'this system has no question',
    );
    const late = text.replace('system: daily-life', 'system: daily-life\n    askAlone: false');
    const stopping = late.replace(
      '        everything: true\n        measure: change\n        why: A warning',
      '        everything: true\n        stop: true\n        measure: leave-out\n        why: A warning',
    );
    expect(refused(stopping)).toContain('what stops is asked first');
    const silent = refused(text.replace('leaveOut: [both-arms]', 'leaveOut: [both-legs]'));
    expect(silent).toMatch(
      /precautions\[\d+\]\.rules\[\d+\]\.adapt\.leaveOut\[0\]: no spoken line has this tag/,
    );
    expect(silent).toMatch(/found: +"?both-legs"?\s+allowed: +both-arms/);
    const unfilled = refused(text.replace('say: You may keep', 'say: On the {{side}}, you may keep'));
    expect(unfilled).toMatch(/\.adapt\.say\.full: .*\{\{side\}\}/);
    expect(unfilled).toMatch(/allowed: +name, firstSession, surface/);
  });
});

describe('what is answered with others', () => {
  it('is nothing that stops, and what is only confirmed is nothing urgent and asks for no window of time', () => {
    for (const precaution of interview.precautions) {
      const stops = precaution.rules.some(({ stop }) => stop);
      if (stops) expect(precaution.askAlone, precaution.id).toBe(true);
      if (!precaution.lasting) continue;
      expect(isUrgent(precaution), precaution.id).toBe(false);
      expect(precaution.ask, precaution.id).not.toMatch(
        /^(In the last|Right now|Is a doctor)|yet to explain/,
      );
    }
    expect(interview.precautions.filter(({ lasting }) => lasting).length).toBeGreaterThan(25);
  });
});
