import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { resolveWarnings } from '../../../src/clinic/followup/warnings.js';
import { openChart } from '../../../src/clinic/people/chart.js';
import { isFollowed, withRules } from '../../../src/screening/settlements.js';
import { openWarningSince } from '../../../src/store/attention/patientChanged.js';
import { markNotesRead } from '../../../src/store/followup/notes.js';
import { acting } from '../acting.js';
import { type DirectClinic, dayMs, openDirectClinic, refused } from '../directClinic.js';

/** What stands before each colon is the rule’s id in the safety case. */
let at: DirectClinic;
beforeAll(async () => {
  at = await openDirectClinic();
});
afterAll(() => at.remove());
const { pathsOf, turn, stateOf, screened, today, settle } = acting(() => at);

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
    expect(await refused(() => turn(patient, id, 'active', { by: late }))).toContain('screening-needed');
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
    const { signWork } = await import('../../../src/clinic/prescribing/signing.js');
    const signing = () =>
      signWork(
        { ...at.service, store: meanwhile },
        at.actor(),
        openChart(meanwhile, at.clinicId, patient),
        work,
        'A start',
      );
    expect(await refused(signing)).toContain('screened-meanwhile');
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
    expect(await refused(() => turn(patient, id, 'active'))).toContain('precautions-open');
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
        unread: [{ checkInId: checkIn.id }],
      }),
    );
    await at.warn(patient, id);
    expect(pathsOf(await next(6, 2)), 'a sign').toEqual(['warning']);
    await resolveWarnings(at.service, at.actor(), patient.id, {
      ...{ note: 'Spoke with her', seenUpToMs: at.now(), keepsPaused: false },
    });
    expect((await next(6, 2)).kind).toBe('signed');
  });

  it('SIGN-6: of the same work is one, with its reason and whoever gave it', async () => {
    const patient = await screened();
    const work = at.workOn(patient, at.contentOf());
    const first = await at.signWork(work);
    expect(first.kind).toBe('signed');
    expect({ ...first, ...(await at.signWork(work)) }, 'sent again').toEqual({ ...first, isNew: false });
    const changed = 'signed-already';
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
    await expect(turn(patient, id, 'active', { by: key })).rejects.toMatchObject({ kind: 'not-allowed' });
    await at.warn(patient, id);
    const answer = { note: 'Looked at it', seenUpToMs: at.now(), keepsPaused: false };
    await expect(resolveWarnings(at.service, key, patient.id, answer)).rejects.toMatchObject({
      kind: 'not-allowed',
    });
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
