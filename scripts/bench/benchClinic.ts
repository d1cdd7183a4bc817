import { createFirstClinic, inviteFirstOwner } from '../../src/store/accounts/clinicians.js';
import { changeClinicContact } from '../../src/store/accounts/clinics.js';
import type { Db } from '../../src/store/engine/openStore.js';
import { createPatient } from '../../src/store/people/patients.js';
import { createPrescription } from '../../src/store/prescribing/prescriptions.js';
import { addScreening } from '../../src/store/screening/screenings.js';

export type BenchClinic = { clinicId: string; clinicianId: string };

/** Creates an empty clinic for a bench to fill. */
export async function makeBenchClinic(db: Db, nowMs: number): Promise<BenchClinic> {
  await inviteFirstOwner(db, { tokenHash: 'link', nowMs, expiresAtMs: nowMs + 1 });
  const owner = {
    clinicName: 'Bench',
    zone: 'UTC',
    name: 'Ada',
    email: 'ada@example.org',
    passwordHash: 'h',
  };
  const made = await createFirstClinic(db, { tokenHash: 'link', ...owner, nowMs });
  if (made === null) throw new RangeError('the invitation is new');
  await changeClinicContact(db, made.clinicId, { phone: '0100 555 00', emergencyNumber: '' });
  return made;
}

/**
 * Adds a patient who has been screened and has a program.
 *
 * @param content the prescription
 * @returns the patient's id
 */
export async function addBenchPatient(
  db: Db,
  { clinicId, clinicianId }: BenchClinic,
  { name, content, nowMs }: { name: string; content: object; nowMs: number },
): Promise<string> {
  const details = { name, spokenName: 'Rosa', sayAs: '', birthYear: 1940, language: 'en', zone: 'UTC' };
  const contact = { phone: '', email: '', hearingNotes: '', goals: [] };
  const patientId = await createPatient(db, clinicId, { ...details, ...contact }, nowMs);
  const answers = JSON.stringify({ osteoporosis: { answer: 'yes', details: '' } });
  const screeningId = await addScreening(db, { patientId, answers, stops: false, clinicianId, nowMs });
  const signing = { title: 'Home program', content: JSON.stringify(content), screeningId, reason: 'r' };
  await createPrescription(db, patientId, { ...signing, signedBy: clinicianId, nowMs });
  return patientId;
}
