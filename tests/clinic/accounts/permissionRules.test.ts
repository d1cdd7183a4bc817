import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { makePasswordLink } from '../../../src/clinic/accounts/accountLinks.js';
import { makeKey } from '../../../src/clinic/accounts/keys.js';
import { resolveWarnings } from '../../../src/clinic/followup/warnings.js';
import { createLink } from '../../../src/clinic/listening/links.js';
import { playableProgram } from '../../../src/clinic/listening/sessions.js';
import { findOwnPatient } from '../../../src/clinic/people/chart.js';
import { Refused } from '../../../src/clinic/refusals.js';
import { hashToken } from '../../../src/clinic/tokens.js';
import { findKeyOwner } from '../../../src/store/accounts/accessKeys.js';
import { revokeLinks } from '../../../src/store/listening/listeningLinks.js';
import {
  addCaregiver,
  caregiversOf,
  caregiversOfClinic,
  listCaredFor,
} from '../../../src/store/people/caregivers.js';
import { patientById, prescriptionById, prescriptionsOf } from '../../../src/store/people/chart.js';
import { changePatient, listPatients } from '../../../src/store/people/patients.js';
import { acting } from '../acting.js';
import { type DirectClinic, openDirectClinic } from '../directClinic.js';

/** What stands before each colon is the rule’s id in the safety case. */
let at: DirectClinic;
beforeAll(async () => {
  at = await openDirectClinic();
});
afterAll(() => at.remove());
const { turn, stateOf, screened } = acting(() => at);

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
      () => resolveWarnings(at.service, by, patient.id, answer),
      () => turn(patient, id, 'paused', { by }),
      () => createLink(at.service, by, link),
    ]) {
      await expect(command()).rejects.toMatchObject({ kind: 'not-allowed' });
    }
    expect(await stateOf(id)).toBe('active');
  });

  it('PERM-1: is so with a key too, and no key may more than whoever made it', async () => {
    const mayWrite = async (key: boolean, by = at.actor()) => {
      const token = await makeKey(at.service, by, { name: 'Front desk', mayWrite: key });
      return (await at.store.read((db) => findKeyOwner(db, hashToken(token))))?.mayWrite;
    };
    expect([await mayWrite(true), await mayWrite(false)]).toEqual([true, false]);
    expect(await mayWrite(true, at.reader())).toBe(false);
  });
});

describe('an owner', () => {
  it('PERM-2: alone makes links for new passwords, and none for herself or for who has left', async () => {
    const colleague = await at.colleague();
    const make = (colleagueId: string, by = at.actor()) =>
      makePasswordLink(at.service, by, { colleagueId, clearsSecondStep: false });
    const clinician = at.actor({ clinician: { ...at.ada, role: 'clinician' } });
    await expect(make(colleague, clinician)).rejects.toMatchObject({ kind: 'not-allowed' });
    expect((await make(colleague)).token).toHaveLength(43);
    await expect(make(at.ada.id), 'her own').rejects.toMatchObject({ kind: 'not-there' });
    await expect(make(at.eve.id), 'of another clinic').rejects.toMatchObject({ kind: 'not-there' });
    await at.endColleague(colleague);
    await expect(make(colleague), 'has left').rejects.toMatchObject({ kind: 'not-there' });
  });
});

describe('another clinic', () => {
  it('PERM-3: finds nobody, changes nothing, and hears nothing', async () => {
    const patient = await screened();
    const id = await at.prescribe(patient);
    const eve = at.actor({ clinician: at.eve });
    await expect(at.store.read((db) => findOwnPatient(db, eve, patient.id))).rejects.toThrow(Refused);
    await expect(at.screen(patient, [], eve)).rejects.toMatchObject({ kind: 'not-there' });
    const theirs = { clinicId: at.eve.clinicId, patientIds: [patient.id] };
    const place = { prescriptionId: id, versionNumber: 1, sessionNumber: 1 };
    expect(await playableProgram(at.service, theirs, place)).toBeNull();
    const { clinicId } = at.eve;
    const { id: patientId, revision, ...details } = patient;
    await at.listenerOf(patient);
    const jonas = { name: 'Jonas Lind', relation: 'son', phone: '', email: '' };
    await at.store.write((db) => addCaregiver(db, patientId, jonas, { personId: null, nowMs: at.now() }));
    const found = await at.store.read(async (db) => ({
      patient: await patientById(db, clinicId, patientId),
      listed: (await listPatients(db, clinicId, '')).patients,
      program: await prescriptionById(db, clinicId, id),
      programs: await prescriptionsOf(db, clinicId, patientId),
      caregivers: await caregiversOfClinic(db, clinicId),
    }));
    expect(found).toEqual({ patient: null, listed: [], program: null, programs: [], caregivers: [] });
    const [own] = await at.store.read((db) => caregiversOf(db, patientId));
    const personId = own?.personId ?? '';
    expect(await at.store.read((db) => listCaredFor(db, at.clinicId, personId))).toHaveLength(1);
    expect(await at.store.read((db) => listCaredFor(db, clinicId, personId))).toEqual([]);
    const change = { id: patientId, revision, details: { ...details, name: 'Eve' }, nowMs: at.now() };
    expect(await at.store.write((db) => changePatient(db, clinicId, change))).toBe(false);
    expect(await at.store.write((db) => revokeLinks(db, clinicId, { patientId }, at.now()))).toBe(0);
    expect(await at.store.write((db) => revokeLinks(db, at.clinicId, { patientId }, at.now()))).toBe(1);
  });
});
