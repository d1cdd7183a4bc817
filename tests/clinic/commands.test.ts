import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { makePasswordLink } from '../../src/clinic/accounts/accountLinks.js';
import { hashToken } from '../../src/clinic/accounts/tokens.js';
import { acceptAdvice, adviceNow, withDose } from '../../src/clinic/followup/advice.js';
import { settleWarnings } from '../../src/clinic/followup/warnings.js';
import { giveLink } from '../../src/clinic/listening/links.js';
import { entryOf } from '../../src/clinic/listening/listener.js';
import { planFor } from '../../src/clinic/listening/planFor.js';
import { promptFor } from '../../src/clinic/listening/prompts.js';
import { playableProgram } from '../../src/clinic/listening/sessions.js';
import { ownPatient } from '../../src/clinic/people/openRecord.js';
import { moveTo } from '../../src/clinic/prescribing/prescriptions.js';
import { Refusal } from '../../src/clinic/refusals.js';
import { questionsToConfirm, withRestNo } from '../../src/clinic/screening/combinedAnswers.js';
import { screensOf } from '../../src/clinic/screening/interviewScreens.js';
import { isTooOld, openQuestions, screeningOf, takeScreening } from '../../src/clinic/screening/screening.js';
import type { ExerciseAdvice } from '../../src/followup/adviceParts.js';
import { isFollowed, withRules } from '../../src/screening/settlements.js';
import { openWarningSince } from '../../src/store/attention/openWarning.js';
import { markNotesRead } from '../../src/store/followup/notes.js';
import { addToken, makeLink } from '../../src/store/listening/listeningLinks.js';
import { addBreak } from '../../src/store/people/careBreaks.js';
import { addCaregiver, recordConsent } from '../../src/store/people/caregivers.js';
import type { Patient } from '../../src/store/people/patients.js';
import { draftAt, keepDraft } from '../../src/store/prescribing/drafts.js';
import { prescriptionById, versionsOf } from '../../src/store/prescribing/prescriptions.js';
import type { PrescriptionState } from '../../src/store/schema/schema.js';
import { addScreening } from '../../src/store/screening/screenings.js';
import { type DirectClinic, dayMs, openDirectClinic, refused } from './directClinic.js';

/** Rules of what a clinic does, each at its boundary. What stands before each colon is its id in the safety case. */
let at: DirectClinic;
beforeAll(async () => {
  at = await openDirectClinic();
});
afterAll(() => at.remove());

const newest = ({ id }: Patient) => at.store.read((db) => screeningOf(db, id));
const pathsOf = (signed: Awaited<ReturnType<DirectClinic['signWork']>>) =>
  signed.kind === 'problems' ? signed.problems.map(({ path }) => path) : [];
const programOf = async (id: string) => {
  const prescription = await at.store.read((db) => prescriptionById(db, at.clinicId, id));
  if (prescription === null) throw new RangeError('the program is there');
  return prescription;
};
const turn = async (
  patient: Patient,
  id: string,
  state: PrescriptionState,
  { by = at.actor(), reason = 'Because of the holidays' } = {},
) => moveTo(at.service, by, { prescription: await programOf(id), patient }, { state, reason });
const stateOf = async (id: string) => (await programOf(id)).state;
/** Somebody who was screened without a finding. */
const screened = async (yes: readonly string[] = []): Promise<Patient> => {
  const patient = await at.person();
  await at.screen(patient, yes);
  return patient;
};
const hospital = (patient: Patient, fromDay: string) =>
  at.store.write((db) =>
    addBreak(db, patient.id, {
      ...{ kind: 'hospital', fromDay, untilDay: null, note: '' },
      ...{ clinicianId: at.clinicianId, nowMs: at.now() },
    }),
  );
const today = () => new Date(at.now()).toISOString().slice(0, 10);
const settle = (rules: Record<string, object>) =>
  Object.fromEntries(
    Object.entries(rules).map(([id, settlement]) => [
      id,
      { exercises: [], answered: 'yes: left side, since spring', ...settlement },
    ]),
  );

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
    await takeScreening(at.service, at.actor(), { patientId: patient.id, answers });
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
    const words = 'there was a stay in hospital since the last screening';
    const next = at.workOn(patient, at.contentOf({ title: 'Next' }), { prescriptionId: id, basedOn: 1 });
    expect(await refused(() => at.signWork(next))).toContain(words);
    expect(await refused(() => turn(patient, id, 'active'))).toContain(words);
    const answers = at.answersWith([]);
    const adding = { patientId: patient.id, answers, isAddition: true };
    expect(await refused(() => takeScreening(at.service, at.actor(), adding))).toContain(words);
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
      const filled = withRestNo({}, each, new Set());
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
        takeScreening(at.service, at.actor(), {
          ...{ patientId: patient.id, isAddition },
          answers: { ...answers },
        }),
      );
    expect(await save(withoutFever)).toContain('please answer this');
    expect(await newest(patient)).toBeNull();
    expect(await save(withoutFever, true), 'nothing to add to').toContain('too old to add to');
    await at.screen(patient);
    // As if two questions had been asked more narrowly then, one of which cannot wait.
    const narrower = { answer: 'no', details: '', asked: 'A narrower question' } as const;
    const grown = { ...at.answersWith([]), fever: narrower, osteoporosis: narrower };
    const { id: patientId } = patient;
    const taken = { patientId, answers: JSON.stringify(grown), stops: false, clinicianId: at.clinicianId };
    await at.store.write((db) => addScreening(db, { ...taken, nowMs: at.now() }));
    const no = { answer: 'no', details: '' };
    expect(await save({ osteoporosis: no }, true), 'fever cannot wait').toContain('please answer this');
    await takeScreening(at.service, at.actor(), {
      ...{ patientId, isAddition: true, answers: { fever: at.answersWith([]).fever ?? narrower } },
    });
    at.pass(91 * dayMs);
    expect(await save({ fever: { answer: 'no', details: '' } }, true)).toContain('too old to add to');
    at.pass(-91 * dayMs);
  });
});

describe('a signature', () => {
  it('SIGN-1: wants a reason in words, as every change of a program does', async () => {
    const patient = await screened();
    for (const reason of ['', '   ', '…', 'x'.repeat(501)]) {
      const signed = await at.signWork(at.workOn(patient, at.contentOf()), at.actor(), reason);
      expect(pathsOf(signed), JSON.stringify(reason)).toEqual(['why']);
    }
    const id = await at.prescribe(patient);
    await turn(patient, id, 'paused');
    for (const state of ['active', 'ended'] as const) {
      expect(await refused(() => turn(patient, id, state, { reason: ' ' }))).toContain('reason');
    }
    expect(await stateOf(id)).toBe('paused');
  });

  it('SIGN-2: wants an interview without an open question, as resuming does', async () => {
    const patient = await at.person();
    const work = at.workOn(patient, at.contentOf());
    expect(pathsOf(await at.signWork(work))).toEqual(['screening']);
    await at.screen(patient);
    const id = await at.prescribe(patient);
    await turn(patient, id, 'paused');
    const late = at.actor({ nowMs: at.now() + 91 * dayMs });
    const next = at.workOn(patient, at.contentOf({ title: 'Next' }), { prescriptionId: id, basedOn: 1 });
    expect(new Set(pathsOf(await at.signWork(next, late)))).toEqual(new Set(['screening']));
    expect(await refused(() => turn(patient, id, 'active', { by: late }))).toContain('screened again');
  });

  it('SIGN-3: is not given on an interview that another one has replaced meanwhile', async () => {
    const patient = await screened();
    const work = at.workOn(patient, at.contentOf());
    // The voice is measured between reading the interview and signing: that is when somebody else screens.
    const { store } = at.service;
    let reads = 0;
    const meanwhile = {
      ...store,
      read: async <Result>(job: Parameters<typeof store.read<Result>>[0]) => {
        const found = await store.read(job);
        reads += 1;
        if (reads === 1) await at.screen(patient);
        return found;
      },
    };
    const { sign } = await import('../../src/clinic/prescribing/signing.js');
    const signing = () => sign({ ...at.service, store: meanwhile }, at.actor(), work, 'A start');
    expect(await refused(signing)).toContain('screened this person meanwhile');
  });

  it('SIGN-4: waits for every precaution that meets an exercise, and so does resuming', async () => {
    const patient = await screened(['foot-operation']);
    const open = (settlements: object) =>
      at.signWork(at.workOn(patient, at.contentOf({}, { settlements }))).then(pathsOf);
    expect(await open({}), 'effort, and moving in bed').toHaveLength(2);
    const moving = {
      'foot-operation-moving': { exercises: ['lying-down-and-getting-up'], isArranged: true },
    };
    expect(await open(settle(moving))).toHaveLength(1);
    const cleared = { exercises: ['ankle-pumps'], clearedBy: 'Dr. Moor', clearedOn: today() };
    const both = settle({ ...moving, 'foot-operation-load': cleared });
    expect(
      await open(settle({ ...moving, 'foot-operation-load': { ...cleared, clearedOn: '2027-01-01' } })),
    ).toHaveLength(1);
    const id = await at.prescribe(patient, at.contentOf({}, { settlements: both }));
    await turn(patient, id, 'paused');
    await turn(patient, id, 'active');
    await turn(patient, id, 'paused');
    await at.screen(patient, ['foot-operation', 'osteoporosis']);
    expect(await refused(() => turn(patient, id, 'active'))).toContain('precautions are still open');
  });

  it('SIGN-5: of more waits for a clinician’s answer to a sign or a note; of less it does not', async () => {
    const patient = await screened();
    const id = await at.prescribe(patient);
    const dose = (reps: number) => ({ exercises: [{ exercise: 'ankle-pumps', dose: { sets: 1, reps } }] });
    const next = (reps: number, basedOn: number) =>
      at.signWork(at.workOn(patient, at.contentOf(dose(reps)), { prescriptionId: id, basedOn }));
    const listener = await at.listenerOf(patient);
    const checkIn = { kind: 'check-in', ...at.about(patient, id), answers: { note: 'A little tired today' } };
    await at.report(listener, [checkIn]);
    expect(pathsOf(await next(6, 1)), 'one note').toEqual(['notes']);
    expect((await next(5, 1)).kind, 'no more').toBe('signed');
    await at.store.write((db) =>
      markNotesRead(db, patient.id, {
        ...{ checkInIds: [checkIn.id], clinicianId: at.clinicianId, nowMs: at.now(), found: '' },
      }),
    );
    await at.warn(patient, id);
    expect(pathsOf(await next(6, 2)), 'a sign').toEqual(['warning']);
    await settleWarnings(at.service, at.actor(), patient.id, {
      ...{ note: 'Spoke with her', seenUpToMs: at.now(), keepsPaused: false },
    });
    expect((await next(6, 2)).kind).toBe('signed');
  });

  it('SIGN-6: of the same work is one, with its reason and whoever gave it', async () => {
    const patient = await screened();
    const work = at.workOn(patient, at.contentOf());
    const first = await at.signWork(work);
    expect(first.kind).toBe('signed');
    expect(await at.signWork(work), 'sent again').toEqual(first);
    const changed = 'this work was signed already';
    expect(await refused(() => at.signWork(work, at.actor(), 'Another reason'))).toContain(changed);
    const more = at.contentOf({ exercises: [{ exercise: 'ankle-pumps', dose: { sets: 1, reps: 6 } }] });
    expect(await refused(() => at.signWork({ ...work, content: more }))).toContain(changed);
    const other = { ...at.eve, clinicId: at.clinicId };
    expect(await refused(() => at.signWork(work, at.actor({ clinician: other })))).toContain(changed);
  });

  it('SIGN-8: to resume, and an answer to a sign, are given by a clinician and no other program', async () => {
    const patient = await screened();
    const id = await at.prescribe(patient);
    await turn(patient, id, 'paused');
    const key = at.actor({ accessKeyId: randomUUID() });
    await expect(turn(patient, id, 'active', { by: key })).rejects.toMatchObject({ status: 403 });
    await at.warn(patient, id);
    const answer = { note: 'Looked at it', seenUpToMs: at.now(), keepsPaused: false };
    await expect(settleWarnings(at.service, key, patient.id, answer)).rejects.toMatchObject({ status: 403 });
    expect(await at.store.read((db) => openWarningSince(db, patient.id))).not.toBeNull();
  });

  it('SIGN-9: keeps what a settled rule changes, and nothing of one that is not settled or not followed', async () => {
    const rule = at.workshop.interview.precautions
      .flatMap(({ name, rules }) => rules.map((each) => ({ name, each })))
      .find(({ each }) => each.measure === 'change' && each.adapt !== undefined);
    if (rule === undefined) throw new RangeError('there is one');
    const finding = {
      ...{
        precaution: { id: 'x', name: rule.name },
        rule: rule.each,
        answered: 'yes',
        exercises: ['bridge'],
      },
    };
    const kept = (settlement: object) => {
      const whole = {
        ...{ exercises: ['bridge'], answered: 'yes', isArranged: false, clearedBy: '', clearedOn: '' },
        ...{ reason: '', ...settlement },
      };
      const made = withRules({ [rule.each.id]: whole }, [finding], '2026-11-25')[rule.each.id];
      return { adapt: made?.rule?.adapt, isFollowed: made === undefined ? null : isFollowed(made) };
    };
    expect(kept({ isArranged: true }).adapt).toEqual(rule.each.adapt);
    expect(kept({ isArranged: true }).isFollowed).toBe(true);
    expect(kept({}).adapt, 'not settled').toBeUndefined();
    expect(kept({ isArranged: true, answered: 'no' }).adapt, 'another answer').toBeUndefined();
    expect(kept({ isArranged: true, reason: 'Not needed here' }).isFollowed).toBe(false);
  });

  it('DOSE-3: is not given where an exercise cannot be done as was settled', async () => {
    const patient = await screened(['lumbar-stenosis']);
    const straight = { exercise: 'thigh-tightening', dose: { sets: 1, reps: 5 } };
    const lying = { exercises: ['thigh-tightening'], isArranged: true };
    const settlements = settle({ 'lumbar-stenosis-lying': lying });
    const content = at.contentOf({ exercises: [straight] }, { settlements });
    expect(pathsOf(await at.signWork(at.workOn(patient, content)))).toContain('exercises[0].setUp.knees');
    // Holds of at most five seconds, and a stretch that allows no less than ten.
    const short = await screened(['angina']);
    const cleared = {
      ...{ exercises: ['hamstring-stretch', 'lying-down-and-getting-up'], isArranged: true },
      ...{ clearedBy: 'Dr. Moor', clearedOn: today() },
    };
    const stretching = at.contentOf(
      { exercises: [{ exercise: 'hamstring-stretch', side: 'left' }] },
      { settlements: settle({ 'angina-effort': cleared }) },
    );
    expect(pathsOf(await at.signWork(at.workOn(short, stretching)))).toContain(
      'exercises[0].dose.holdSeconds',
    );
  });
});

describe('a warning sign', () => {
  const answer = (seenUpToMs: number, more: object = {}) => ({
    ...{ note: 'Called her; it was cramp', seenUpToMs, keepsPaused: false, ...more },
  });
  const heldSince = ({ id }: Patient) => at.store.read((db) => openWarningSince(db, id));

  it('WARN-1: that came after the page was drawn is not answered with it', async () => {
    const patient = await screened();
    const other = await screened();
    const [id, otherId] = [await at.prescribe(patient), await at.prescribe(other)];
    await at.warn(patient, id);
    await at.warn(other, otherId);
    const drawnMs = at.now();
    at.pass(1);
    await at.warn(patient, id, ['chest-pain']);
    at.pass(1_000);
    await settleWarnings(at.service, at.actor(), patient.id, answer(drawnMs));
    expect(await heldSince(patient), 'the later one').toBe(drawnMs + 1);
    expect(await heldSince(other), 'of somebody else').toBe(drawnMs);
    await expect(
      settleWarnings(at.service, at.actor(), patient.id, answer(drawnMs)),
      'nothing of what she saw is open',
    ).rejects.toMatchObject({ status: 409 });
  });

  it('WARN-1: that is to come is answered by no page, whatever it claims to have seen', async () => {
    const patient = await screened();
    const id = await at.prescribe(patient);
    await at.warn(patient, id);
    const actor = at.actor();
    at.pass(60_000);
    await at.warn(patient, id, ['chest-pain']);
    await settleWarnings(at.service, actor, patient.id, answer(at.now() + 10 * dayMs));
    expect(await heldSince(patient)).toBe(at.now());
  });

  it('WARN-2: holds everything back, also while another one was answered', async () => {
    const patient = await screened();
    const id = await at.prescribe(patient);
    const listener = await at.listenerOf(patient);
    const plays = () =>
      playableProgram(
        at.service,
        { clinicId: at.clinicId, patientIds: [patient.id] },
        { prescriptionId: id, versionNumber: 1, sessionNumber: 1 },
      ).then((found) => found !== null);
    const isHeld = async () => (await planFor(at.service, listener)).people[0]?.isHeld;
    expect([await plays(), await isHeld()]).toEqual([true, false]);
    await at.warn(patient, id);
    const firstMs = at.now();
    at.pass(1);
    await at.warn(patient, id, ['chest-pain']);
    await settleWarnings(at.service, at.actor(), patient.id, answer(firstMs));
    expect([await plays(), await isHeld()], 'the second one').toEqual([false, true]);
    await settleWarnings(at.service, at.actor(), patient.id, answer(at.now()));
    expect([await plays(), await isHeld()]).toEqual([true, false]);
    const other = await screened();
    await at.warn(other, await at.prescribe(other));
    expect([await plays(), await isHeld()], 'of somebody else').toEqual([true, false]);
  });

  it('WARN-4: of two that were ticked is told of where only one was told before, in that session', async () => {
    const patient = await screened();
    const id = await at.prescribe(patient);
    const listener = await at.listenerOf(patient);
    const warningsOf = async () =>
      (
        await at.store.read((db) =>
          db.selectFrom('warning').select('signs').where('patientId', '=', patient.id).execute(),
        )
      ).length;
    const about = at.about(patient, id);
    await at.report(listener, [{ kind: 'warning', ...about, signs: ['faint'], positionMs: null }]);
    const ticked = (signs: string[], listeningId: string) => ({
      ...{ kind: 'check-in', ...about, id: randomUUID(), listeningId, answers: { done: 'all', signs } },
    });
    await at.report(listener, [ticked(['faint'], about.listeningId)]);
    expect(await warningsOf(), 'told already').toBe(1);
    await at.report(listener, [ticked(['faint', 'chest-pain'], about.listeningId)]);
    expect(await warningsOf(), 'one of them is new').toBe(2);
    await at.report(listener, [ticked(['faint'], randomUUID())]);
    expect(await warningsOf(), 'in another session').toBe(3);
    const told = await at.store.read((db) =>
      db.selectFrom('delivery').select('subject').where('patientId', '=', patient.id).execute(),
    );
    expect(new Set(told.map(({ subject }) => subject)).size, 'clinicians are told of each').toBe(3);
  });
});

describe('whoever may only read', () => {
  it('PERM-1: signs, screens, answers, pauses and gives nothing', async () => {
    const patient = await screened();
    const id = await at.prescribe(patient);
    await at.warn(patient, id);
    const by = at.reader();
    const link = { patientId: patient.id, caregiverId: null, pin: '' };
    const answer = { note: 'Called her', seenUpToMs: at.now(), keepsPaused: false };
    for (const command of [
      () => at.signWork(at.workOn(patient, at.contentOf()), by),
      () => at.screen(patient, [], by),
      () => settleWarnings(at.service, by, patient.id, answer),
      () => turn(patient, id, 'paused', { by }),
      () => giveLink(at.service, by, link),
    ]) {
      await expect(command()).rejects.toMatchObject({ status: 403 });
    }
    expect(await stateOf(id)).toBe('active');
  });
});

describe('an owner', () => {
  it('PERM-2: alone makes links for new passwords, and none for herself or for who has left', async () => {
    const colleague = await at.colleague();
    const make = (colleagueId: string, by = at.actor()) =>
      makePasswordLink(at.service, by, { colleagueId, clearsSecondStep: false });
    const clinician = at.actor({ clinician: { ...at.ada, role: 'clinician' } });
    await expect(make(colleague, clinician)).rejects.toMatchObject({ status: 403 });
    expect((await make(colleague)).token).toHaveLength(43);
    await expect(make(at.ada.id), 'her own').rejects.toMatchObject({ status: 404 });
    await expect(make(at.eve.id), 'of another clinic').rejects.toMatchObject({ status: 404 });
    await at.endColleague(colleague);
    await expect(make(colleague), 'has left').rejects.toMatchObject({ status: 404 });
  });
});

describe('another clinic', () => {
  it('PERM-3: finds nobody, changes nothing, and hears nothing', async () => {
    const patient = await screened();
    const id = await at.prescribe(patient);
    const eve = at.actor({ clinician: at.eve });
    await expect(at.store.read((db) => ownPatient(db, eve, patient.id))).rejects.toThrow(Refusal);
    await expect(at.screen(patient, [], eve)).rejects.toMatchObject({ status: 404 });
    const theirs = { clinicId: at.eve.clinicId, patientIds: [patient.id] };
    const place = { prescriptionId: id, versionNumber: 1, sessionNumber: 1 };
    expect(await playableProgram(at.service, theirs, place)).toBeNull();
  });
});

describe('a link', () => {
  it('PERM-4: opens its pages to its end and not a millisecond longer', async () => {
    const patient = await screened();
    const token = 't'.repeat(43);
    const expiresAtMs = at.now() + dayMs;
    const rest = { clinicId: at.clinicId, clinicianId: at.clinicianId, nowMs: at.now(), pinHash: null };
    await at.store.write((db) =>
      makeLink(db, {
        ...{ ...rest, owner: { patientId: patient.id }, tokenHash: hashToken(token) },
        ...{ codeHash: randomUUID(), expiresAtMs },
      }),
    );
    const kindAt = async (nowMs: number) =>
      (await entryOf({ ...at.service, now: () => nowMs }, { token, givenPin: null })).kind;
    expect([await kindAt(expiresAtMs - 1), await kindAt(expiresAtMs)]).toEqual(['open', 'dead']);
  });

  it('PERM-5: is given sound and sentences of its own patients alone', async () => {
    const [rosa, emil] = [await screened(), await screened()];
    const [, emils] = [await at.prescribe(rosa), await at.prescribe(emil)];
    const listener = await at.listenerOf(rosa);
    expect(await promptFor(at.service, listener, { patientId: emil.id, key: 'go-on-before' })).toBeNull();
    const own = { clinicId: at.clinicId, patientIds: [rosa.id] };
    const place = { prescriptionId: emils, versionNumber: 1, sessionNumber: 1 };
    expect(await playableProgram(at.service, own, place)).toBeNull();
    const answer = await at.report(listener, [
      { kind: 'warning', ...at.about(emil, emils), signs: ['faint'], positionMs: null },
    ]);
    expect(answer, 'left for the link that it belongs to').toEqual({ keptIds: [], refused: [] });
    expect(await at.store.read((db) => openWarningSince(db, emil.id))).toBeNull();
  });

  it('PERM-5: plays what runs, a replaced version for a day, and a few sessions ahead', async () => {
    const patient = await screened();
    const id = await at.prescribe(patient);
    const plays = (sessionNumber: number, versionNumber = 1, nowMs = at.now()) =>
      playableProgram(
        { ...at.service, now: () => nowMs },
        { clinicId: at.clinicId, patientIds: [patient.id] },
        { prescriptionId: id, versionNumber, sessionNumber },
      ).then((found) => found !== null);
    // Three days ahead with three sessions each, but for the first.
    expect([await plays(1 + 8), await plays(1 + 9)]).toEqual([true, false]);
    const next = at.workOn(patient, at.contentOf({ title: 'Next' }), { prescriptionId: id, basedOn: 1 });
    await at.signWork(next);
    const signedMs = at.now();
    expect(await plays(1, 1, signedMs + dayMs - 1), 'for less than a day').toBe(true);
    expect(await plays(1, 1, signedMs + dayMs)).toBe(false);
    expect(await plays(1, 2, signedMs + dayMs), 'the one that holds').toBe(true);
    await turn(patient, id, 'paused');
    expect(await plays(1, 2)).toBe(false);
  });

  it('PERM-6: with a PIN opens on the device that gave the PIN of this very link', async () => {
    const patient = await screened();
    const [token, pin, otherPin] = ['a'.repeat(43), 'b'.repeat(43), 'c'.repeat(43)];
    const owner = { patientId: patient.id };
    const rest = { clinicId: at.clinicId, clinicianId: at.clinicianId, nowMs: at.now() };
    const expiresAtMs = at.now() + dayMs;
    await at.store.write(async (db) => {
      const linkId = await makeLink(db, {
        ...{ ...rest, owner, tokenHash: hashToken(token), codeHash: randomUUID() },
        ...{ pinHash: 'h', expiresAtMs },
      });
      await addToken(db, { linkId, tokenHash: hashToken(pin), purpose: 'pin', nowMs: at.now() });
    });
    const other = await at.listenerOf(await screened(), 'h');
    await at.store.write((db) =>
      addToken(db, { linkId: other.linkId, tokenHash: hashToken(otherPin), purpose: 'pin', nowMs: at.now() }),
    );
    const kindWith = async (givenPin: string | null) => (await entryOf(at.service, { token, givenPin })).kind;
    expect(await kindWith(null)).toBe('pin');
    expect(await kindWith('d'.repeat(43)), 'no PIN of ours').toBe('pin');
    expect(await kindWith(otherPin), 'of another link').toBe('pin');
    expect(await kindWith(pin)).toBe('open');
  });
});

describe('a caregiver', () => {
  it('PERM-7: sees what was done where the patient agreed to it about them, and no longer once that is taken back', async () => {
    const patient = await screened();
    await at.prescribe(patient);
    const details = { name: 'Jonas Lind', relation: 'son', phone: '', email: '' };
    const [jonas, mira] = await at.store.write(async (db) => [
      await addCaregiver(db, patient.id, details, { personId: null, nowMs: at.now() }),
      await addCaregiver(db, patient.id, details, { personId: null, nowMs: at.now() }),
    ]);
    const listener = { ...(await at.listenerOf(patient)), isCaregiver: true };
    const showsDone = async (caregiverId: string) => {
      const patients = [{ patientId: patient.id, caregiverId }];
      return (await planFor(at.service, { ...listener, patients })).people[0]?.showsDone;
    };
    const say = (isGiven: boolean) =>
      at.store.write((db) =>
        recordConsent(db, {
          ...{ patientId: patient.id, caregiverId: jonas, kind: 'caregiver-sees-done', isGiven },
          ...{ clinicianId: at.clinicianId, nowMs: at.now(), onDate: '2026-11-25', note: '' },
        }),
      );
    expect(await showsDone(jonas)).toBe(false);
    await say(true);
    expect([await showsDone(jonas), await showsDone(mira)]).toEqual([true, false]);
    await say(false);
    expect(await showsDone(jonas)).toBe(false);
  });
});

describe('advice', () => {
  it('ADV-7: changes one exercise, and of that the numbers that differ', () => {
    const exercises = ['ankle-pumps', 'bridge', 'heel-press'].map((exercise) => ({
      exercise,
      dose: { reps: 5, restSeconds: 4 },
    }));
    const content = at.contentOf({ exercises });
    const advice: ExerciseAdvice = {
      ...{
        kind: 'step-up',
        why: 'all-met',
        conditions: [],
        key: 'k',
        exerciseIndex: 1,
        exerciseId: 'bridge',
      },
      ...{ ruleId: null, limits: [], toName: null, sinceMs: 0 },
      dose: { reps: 5, sets: 1, restSeconds: 4 },
      to: { reps: 8, sets: 1, restSeconds: 4 },
    };
    const changed = withDose(content, advice);
    expect(changed).toEqual(
      at.contentOf({
        exercises: exercises.map((entry, index) =>
          index === 1 ? { ...entry, dose: { reps: 8, restSeconds: 4 } } : entry,
        ),
      }),
    );
  });

  /** Somebody to whom the last two of three sessions were far too hard, so that less is advised. */
  async function tired() {
    const patient = await screened();
    const reps = (count: number) => ({ exercises: [{ exercise: 'ankle-pumps', dose: { reps: count } }] });
    const id = await at.prescribe(patient, at.contentOf(reps(15)));
    const listener = await at.listenerOf(patient);
    for (const effort of [3, 9, 9]) {
      at.pass(dayMs);
      const about = { ...at.about(patient, id), slot: `${today()}#1` };
      const answers = { done: 'all', painBefore: 2, painAfter: 2, effort, signs: [] };
      await at.report(listener, [
        { kind: 'step', ...about, step: 'started', positionMs: 0 },
        { kind: 'step', ...about, id: randomUUID(), step: 'finished', positionMs: 300_000 },
        { kind: 'check-in', ...about, id: randomUUID(), answers },
      ]);
    }
    const now = await adviceNow(at.service, at.clinicId, patient.id);
    const [advice] = now.programs[0]?.exercises ?? [];
    if (advice === undefined) throw new RangeError('one program runs');
    const named = { prescriptionId: id, versionNumber: 1, exerciseIndex: 0, key: advice.key };
    return { patient, id, advice, named };
  }
  const versionsNow = (id: string) => at.store.read((db) => versionsOf(db, id));

  it('ADV-7: signs exactly what was shown, once', async () => {
    const { patient, id, advice, named } = await tired();
    expect(advice).toMatchObject({ kind: 'step-down', why: 'too-hard', to: { reps: 10 } });
    const changed = { ...named, key: `${named.key} of yesterday` };
    const accept = (what: typeof named) => acceptAdvice(at.service, at.actor(), patient, what, 'As advised');
    expect(await refused(() => accept(changed))).toContain('not what is advised any more');
    expect(await refused(() => accept({ ...named, versionNumber: 2 }))).toContain('not what is advised');
    expect(await versionsNow(id)).toHaveLength(1);
    const signed = await accept(named);
    expect(signed).toEqual({ kind: 'signed', prescriptionId: id, number: 2 });
    expect(await accept(named), 'sent twice').toEqual(signed);
    const [newest, before, ...more] = await versionsNow(id);
    expect(more).toEqual([]);
    const dose = ({ content }: { content: string | null } = { content: null }) =>
      JSON.parse(content ?? 'null').program.exercises[0].dose;
    expect([dose(before), dose(newest)]).toEqual([{ reps: 15 }, { reps: 10 }]);
  });

  it('ADV-7: signs nothing where a sign came meanwhile, or over unsigned work of hers', async () => {
    const { patient, id, named } = await tired();
    const { store } = at.service;
    let writes = 0;
    const meanwhile = {
      ...store,
      write: async <Result>(job: Parameters<typeof store.write<Result>>[0]) => {
        writes += 1;
        if (writes === 1) await at.warn(patient, id);
        return store.write(job);
      },
    };
    const late = () =>
      acceptAdvice({ ...at.service, store: meanwhile }, at.actor(), patient, named, 'As advised');
    expect(await refused(late)).toContain('not what is advised any more');
    await settleWarnings(at.service, at.actor(), patient.id, {
      ...{ note: 'It was cramp', seenUpToMs: at.now(), keepsPaused: false },
    });
    const other = await tired();
    const place = { clinicianId: at.ada.id, patientId: other.patient.id, prescriptionId: other.id };
    const draft = { content: JSON.stringify(at.contentOf()), basedOnNumber: 1, updatedAtMs: at.now() };
    await at.store.write((db) => keepDraft(db, place, draft));
    const over = () => acceptAdvice(at.service, at.actor(), other.patient, other.named, 'As advised');
    expect(await refused(over)).toContain('unsigned work');
    expect(await at.store.read((db) => draftAt(db, place))).not.toBeNull();
    for (const each of [id, other.id]) expect(await versionsNow(each)).toHaveLength(1);
  });
});
