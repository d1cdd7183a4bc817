import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { answerNoToRest, questionsToConfirm } from '../../../src/clinic/screening/combinedAnswers.js';
import { screensOf } from '../../../src/clinic/screening/interviewScreens.js';
import { saveScreening } from '../../../src/clinic/screening/screening.js';
import { isTooOld, openQuestions } from '../../../src/screening/takenScreening.js';
import { addBreak } from '../../../src/store/people/careBreaks.js';
import { addScreening } from '../../../src/store/screening/screenings.js';
import { acting } from '../acting.js';
import { type DirectClinic, dayMs, openDirectClinic, refused } from '../directClinic.js';

/** What stands before each colon is the rule’s id in the safety case. */
let at: DirectClinic;
beforeAll(async () => {
  at = await openDirectClinic();
});
afterAll(() => at.remove());
const { newest, pathsOf, turn, stateOf, screened, hospital, today } = acting(() => at);

describe('an interview', () => {
  it('SCREEN-3: holds for 90 days to the millisecond, and then everything is open', async () => {
    const patient = await screened();
    const taken = await newest(patient);
    if (taken === null) throw new RangeError('the interview was saved');
    const limitMs = taken.atMs + 90 * dayMs;
    expect(isTooOld(taken, limitMs)).toBe(false);
    expect(isTooOld(taken, limitMs + 1)).toBe(true);
    expect(openQuestions(taken, at.workshop, limitMs)).toEqual([]);
    expect(openQuestions(taken, at.workshop, limitMs + 1)).toHaveLength(
      at.workshop.interview.precautions.length,
    );
    const work = at.workOn(patient, at.contentOf());
    expect(pathsOf(await at.signWork(work, at.actor({ nowMs: limitMs + 1 })))).toContain('screening');
    expect((await at.signWork(work, at.actor({ nowMs: limitMs }))).kind).toBe('signed');
  });

  it('SCREEN-4: is as old as its oldest answer, whatever whoever sends it says', async () => {
    const patient = await at.person();
    const answers = Object.fromEntries(
      Object.entries(at.answersWith([])).map(([id, answer]) => [id, { ...answer, askedAtMs: 1 }]),
    );
    await saveScreening(at.service, at.actor(), { patientId: patient.id, answers });
    expect((await newest(patient))?.oldestAtMs).toBe(at.now());
  });

  it('SCREEN-8: that holds everything back pauses what runs, and one that only changes something does not', async () => {
    const stateAfter = async (...yes: string[]) => {
      const patient = await screened();
      const id = await at.prescribe(patient);
      await at.screen(patient, yes);
      return stateOf(id);
    };
    const whole = (measure: string) =>
      at.workshop.interview.precautions.find(
        ({ rules: [first, ...others] }) =>
          first?.everything === true && first.measure === measure && others.length === 0,
      )?.id ?? '';
    expect(await stateAfter('fever'), 'a doctor first').toBe('paused');
    expect(await stateAfter(whole('clearance')), 'cleared first').toBe('paused');
    expect(await stateAfter(whole('change')), 'another way').toBe('active');
    expect(await stateAfter('rounder-back')).toBe('active');
  });

  it('SCREEN-9: of before a stay in the hospital is not signed on, resumed on, or added to', async () => {
    const patient = await screened();
    const id = await at.prescribe(patient);
    await turn(patient, id, 'paused');
    at.pass(60_000);
    await hospital(patient, today());
    const words = 'hospital-since-screening';
    const next = at.workOn(patient, at.contentOf({ title: 'Next' }), { prescriptionId: id, basedOn: 1 });
    expect(await refused(() => at.signWork(next))).toContain(words);
    expect(await refused(() => turn(patient, id, 'active'))).toContain(words);
    const answers = at.answersWith([]);
    const adding = { patientId: patient.id, answers, isAddition: true };
    expect(await refused(() => saveScreening(at.service, at.actor(), adding))).toContain(words);
    at.pass(60_000);
    await at.screen(patient);
    await turn(patient, id, 'active');
    expect(await stateOf(id), 'after another interview').toBe('active');
  });

  it('SCREEN-9: stays good through a holiday, and a stay that is still to come', async () => {
    const patient = await screened();
    at.pass(60_000);
    await hospital(patient, '2027-03-01');
    const holiday = { kind: 'holiday', fromDay: today(), untilDay: '2027-03-01', note: '' } as const;
    await at.store.write((db) =>
      addBreak(db, patient.id, { ...holiday, clinicianId: at.clinicianId, nowMs: at.now() }),
    );
    await at.prescribe(patient);
  });

  it('SCREEN-10: is confirmed only where it is recent, sure, and from after any stay in the hospital', async () => {
    const patient = await screened();
    const last = await newest(patient);
    const [lasting] = at.workshop.interview.precautions.filter((each) => each.lasting);
    const screens = screensOf(at.workshop.interview, 'all', null);
    const screen = screens.find(({ questions }) => questions.some(({ id }) => id === lasting?.id));
    if (last === null || lasting === undefined || screen === undefined) throw new RangeError('one lasts');
    const confirmed = (
      answer: 'yes' | 'unsure' | 'no',
      { hasBeenInHospital = false, nowMs = last.atMs }: { hasBeenInHospital?: boolean; nowMs?: number } = {},
    ) => {
      const answers = { ...last.answers, [lasting.id]: { answer, details: '' } };
      const earlier = { last: { ...last, answers }, hasBeenInHospital };
      return questionsToConfirm(screen, 'all', earlier, nowMs).has(lasting.id);
    };
    expect([confirmed('yes'), confirmed('no'), confirmed('unsure')]).toEqual([true, true, false]);
    expect(confirmed('yes', { hasBeenInHospital: true })).toBe(false);
    expect(confirmed('yes', { nowMs: last.atMs + 90 * dayMs })).toBe(true);
    expect(confirmed('yes', { nowMs: last.atMs + 90 * dayMs + 1 })).toBe(false);
    for (const each of screens) {
      const filled = answerNoToRest({}, each, new Set());
      for (const { id, askAlone, rules } of each.questions) {
        const isAlone = askAlone || rules.some(({ stop }) => stop);
        expect(filled[id]?.answer, `${id}, with all the rest`).toBe(isAlone ? undefined : 'no');
      }
    }
    for (const { questions } of screens) {
      const some = { last, hasBeenInHospital: false };
      for (const id of questionsToConfirm({ ...screen, questions }, 'all', some, last.atMs)) {
        const rules = at.workshop.interview.precautions.find((each) => each.id === id)?.rules ?? [];
        expect(
          rules.some(({ stop }) => stop),
          id,
        ).toBe(false);
      }
    }
  });

  it('SCREEN-11: is not saved with a question open, nor added to where one that cannot wait stays open', async () => {
    const patient = await at.person();
    const { fever: _fever, ...withoutFever } = at.answersWith([]);
    const save = (answers: object, isAddition = false) =>
      refused(() =>
        saveScreening(at.service, at.actor(), {
          ...{ patientId: patient.id, isAddition },
          answers: { ...answers },
        }),
      );
    expect(await save(withoutFever)).toContain('question-unanswered');
    expect(await newest(patient)).toBeNull();
    expect(await save(withoutFever, true), 'nothing to add to').toContain('screening-too-old');
    await at.screen(patient);
    // As if two questions had been asked more narrowly then, one of which cannot wait.
    const narrower = { answer: 'no', details: '', asked: 'A narrower question' } as const;
    const grown = { ...at.answersWith([]), fever: narrower, osteoporosis: narrower };
    const { id: patientId } = patient;
    const taken = { patientId, answers: JSON.stringify(grown), stops: false, clinicianId: at.clinicianId };
    await at.store.write((db) => addScreening(db, { ...taken, nowMs: at.now() }));
    const no = { answer: 'no', details: '' };
    expect(await save({ osteoporosis: no }, true), 'fever cannot wait').toContain('question-unanswered');
    await saveScreening(at.service, at.actor(), {
      ...{ patientId, isAddition: true, answers: { fever: at.answersWith([]).fever ?? narrower } },
    });
    at.pass(91 * dayMs);
    expect(await save({ fever: { answer: 'no', details: '' } }, true)).toContain('screening-too-old');
    at.pass(-91 * dayMs);
  });
});
