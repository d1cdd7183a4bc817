import { z } from 'zod';
import { inputError } from '../../errors/stillcountError.js';
import { lockPatient } from '../../store/attention/lockPatient.js';
import type { Db } from '../../store/engine/openStore.js';
import { endClinicProgram, keepClinicProgram } from '../../store/prescribing/clinicPrograms.js';
import { dropDraftsOf } from '../../store/prescribing/drafts.js';
import { changeState, versionsOf } from '../../store/prescribing/prescriptions.js';
import type { PrescriptionState } from '../../store/schema/schema.js';
import { type Actor, dayOf, note, requireMayWrite } from '../actor.js';
import { whyHeldBack } from '../listening/notPlayable.js';
import { requireScreenedSince } from '../people/hospital.js';
import type { OwnPrescription } from '../people/openRecord.js';
import { notAllowed, notFound } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { openCount, openQuestions, screeningOf } from '../screening/screening.js';
import { parsedForm, reasonSchema } from '../values.js';
import { starterNotes, withoutPerson } from './starters.js';

/**
 * Pauses, resumes or ends a program.
 *
 * @throws Refusal for somebody who may only read, or another program that would resume; StillcountError kind `input`
 *   without a reason, when the program is in that state already or has ended, or resuming while a precaution is open
 */
export async function moveTo(
  service: Pick<Resources, 'store' | 'workshop' | 'lengths' | 'versions'>,
  actor: Actor,
  { prescription, patient }: OwnPrescription,
  { state, reason }: { state: PrescriptionState; reason: string },
): Promise<void> {
  requireMayWrite(actor);
  parsedForm(z.object({ reason: reasonSchema }), { reason });
  const step = { prescriptionId: prescription.id, state, clinicianId: actor.clinician.id, reason };
  if (state === 'active') await requirePlayable(service, prescription.id);
  await service.store.write(async (db) => {
    await lockPatient(db, patient.id);
    if (state === 'active') await requireNothingOpen(db, service, actor, prescription);
    if (!(await changeState(db, { ...step, nowMs: actor.nowMs }))) {
      const found = prescription.state;
      throw inputError({
        path: 'state',
        message: 'this step is not possible from where the program is',
        found,
      });
    }
    // Nothing more can be signed on what has ended.
    if (state === 'ended') await dropDraftsOf(db, prescription.id);
    const what = { patientId: patient.id, subject: prescription.id };
    await note(db, actor, { ...what, action: `prescription-${state}` });
  });
}

/** A version that was signed never changes, and neither does the catalogue while the service runs. */
async function requirePlayable(
  service: Pick<Resources, 'store' | 'workshop' | 'lengths' | 'versions'>,
  prescriptionId: string,
): Promise<void> {
  const problems = await whyHeldBack(service, prescriptionId);
  if (problems.length === 0) return;
  throw inputError([
    {
      path: 'state',
      message: 'this program cannot be played as it was signed; sign a new version first, then resume',
    },
    ...problems,
  ]);
}

/** In the transaction that resumes, so that no screening comes in between. */
async function requireNothingOpen(
  db: Db,
  { workshop }: Pick<Resources, 'workshop'>,
  actor: Actor,
  { id, patientId }: OwnPrescription['prescription'],
): Promise<void> {
  if (actor.accessKeyId !== null) throw notAllowed('Only a clinician resumes a program, on its page');
  const screening = await screeningOf(db, patientId);
  if (screening === null || openQuestions(screening, workshop, actor.nowMs).length > 0) {
    throw inputError({ path: 'state', message: 'this person has to be screened again first, then resume' });
  }
  const since = { screenedAtMs: screening.oldestAtMs, today: dayOf(actor), path: 'state' };
  await requireScreenedSince(db, patientId, since);
  const open = await openCount(db, workshop, actor, { id, answers: screening.answers });
  if (open === 0) return;
  throw inputError({
    path: 'state',
    message: 'precautions are still open; resolve them in a new version first, then resume',
    found: `${open} open`,
  });
}

/**
 * Keeps the newest version of a prescription, without anything about the person, among the clinic's own programs.
 *
 * @throws Refusal for somebody who may only read; StillcountError kind `input` for one that can no longer be played
 */
export async function keepAsOwn(
  { store, workshop, versions }: Pick<Resources, 'store' | 'workshop' | 'versions'>,
  actor: Actor,
  { prescription, patient }: OwnPrescription,
  title: string,
): Promise<string> {
  requireMayWrite(actor);
  const houseNotes = await starterNotes(workshop);
  const { clinicId, id: clinicianId } = actor.clinician;
  return store.write(async (db) => {
    const [newest] = await versionsOf(db, prescription.id);
    const problems = newest === undefined ? [] : versions.kept(prescription.id, newest).problems;
    if (problems.length > 0) throw inputError(problems);
    const content = JSON.stringify(withoutPerson(JSON.parse(newest?.content ?? 'null'), title, houseNotes));
    const id = await keepClinicProgram(db, { clinicId, clinicianId, title, content, nowMs: actor.nowMs });
    await note(db, actor, { patientId: patient.id, subject: prescription.id, action: 'program-kept' });
    return id;
  });
}

/** @throws Refusal for somebody who may only read, or when the clinic has no such program */
export async function dropOwn({ store }: Pick<Resources, 'store'>, actor: Actor, id: string): Promise<void> {
  requireMayWrite(actor);
  await store.write(async (db) => {
    if (!(await endClinicProgram(db, actor.clinician.clinicId, { id, nowMs: actor.nowMs }))) {
      throw notFound('There is no such program here');
    }
    await note(db, actor, { patientId: null, subject: id, action: 'program-dropped' });
  });
}
