import { z } from 'zod';
import { openQuestions } from '../../screening/takenScreening.js';
import { auditActor } from '../../store/accounts/audit.js';
import { versionsOf } from '../../store/people/chart.js';
import { endClinicProgram, saveClinicProgram } from '../../store/prescribing/clinicPrograms.js';
import { changeState, deleteDrafts } from '../../store/prescribing/prescriptions.js';
import type { PrescriptionState } from '../../store/schema/prescribingSchema.js';
import { type Actor, clinicDayOf, requireMayWrite } from '../actor.js';
import type { PlaybackResources } from '../listening/notPlayable.js';
import { findHoldReasons } from '../listening/notPlayable.js';
import {
  type Chart,
  lockChart,
  type OwnPrescription,
  openChart,
  requireScreenedSince,
} from '../people/chart.js';
import { Refused, refusalOf, refused, throwIfRefused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { countOpenFindings } from '../screening/screening.js';
import { parseForm, reasonSchema } from '../values.js';
import { removePersonalData, starterNotes } from './starters.js';

/**
 * Pauses, resumes or ends a program.
 *
 * @throws Refused for a read-only member, or if another program tries to resume; also without a reason, if the program
 *   is already in that state or has ended, or on resuming while a precaution is open
 */
export async function changeProgramState(
  service: PlaybackResources & Pick<Resources, 'store'>,
  actor: Actor,
  { prescription, patient }: OwnPrescription,
  { state, reason }: { state: PrescriptionState; reason: string },
): Promise<void> {
  requireMayWrite(actor);
  parseForm(z.object({ reason: reasonSchema }), { reason });
  const step = { prescriptionId: prescription.id, state, clinicianId: actor.clinician.id, reason };
  const chart = openChart(service.store, actor.clinician.clinicId, patient);
  if (state === 'active') await requirePlayable(service, chart, prescription.id);
  await service.store.write(async (db) => {
    const locked = await lockChart(db, chart);
    if (state === 'active') await requireNothingOpen(service, actor, locked, prescription);
    if (!(await changeState(db, { ...step, nowMs: actor.nowMs }))) {
      const found = prescription.state;
      throw refused('step-not-possible', { field: 'state', found });
    }
    // No version can be signed for a program that has ended.
    if (state === 'ended') await deleteDrafts(db, prescription.id);
    const what = { patientId: patient.id, subject: prescription.id };
    await auditActor(db, actor, { ...what, action: `prescription-${state}` });
  });
}

/** A signed version never changes, and neither does the catalogue while the service runs. */
async function requirePlayable(
  service: PlaybackResources,
  chart: Chart,
  prescriptionId: string,
): Promise<void> {
  const problems = await findHoldReasons(service, chart, prescriptionId);
  if (problems.length === 0) return;
  throw new Refused([{ code: 'program-not-playable', field: 'state' }, ...problems.map(refusalOf)]);
}

/** In the transaction that resumes, so that no screening can come in between. */
async function requireNothingOpen(
  { workshop }: Pick<Resources, 'workshop'>,
  actor: Actor,
  locked: Chart,
  { id }: OwnPrescription['prescription'],
): Promise<void> {
  // Rule SIGN-8: only a clinician resumes a program or answers a warning sign, never another program.
  if (actor.accessKeyId !== null) throw refused('resume-on-page-only');
  const screening = await locked.screening();
  if (screening === null || openQuestions(screening, workshop, actor.nowMs).length > 0) {
    throw refused('screening-needed', { field: 'state' });
  }
  const since = { screenedAtMs: screening.oldestAtMs, today: clinicDayOf(actor), path: 'state' };
  await requireScreenedSince(locked, since);
  const open = await countOpenFindings(locked, workshop, actor, { id, answers: screening.answers });
  if (open === 0) return;
  throw refused('precautions-open', { field: 'state', found: `${open} open` });
}

/**
 * Saves the newest version of a prescription as a clinic program, without patient data.
 *
 * @throws Refused for a read-only member; also for one that can no longer be played
 */
export async function saveAsClinicProgram(
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
    throwIfRefused(problems.map(refusalOf));
    const content = JSON.stringify(
      removePersonalData(JSON.parse(newest?.content ?? 'null'), title, houseNotes),
    );
    const id = await saveClinicProgram(db, { clinicId, clinicianId, title, content, nowMs: actor.nowMs });
    await auditActor(db, actor, { patientId: patient.id, subject: prescription.id, action: 'program-kept' });
    return id;
  });
}

/** @throws Refused for a read-only member, or if the clinic has no such program */
export async function removeClinicProgram(
  { store }: Pick<Resources, 'store'>,
  actor: Actor,
  id: string,
): Promise<void> {
  requireMayWrite(actor);
  await store.write(async (db) => {
    if (!(await endClinicProgram(db, actor.clinician.clinicId, { id, nowMs: actor.nowMs }))) {
      throw refused('no-such-program');
    }
    await auditActor(db, actor, { patientId: null, subject: id, action: 'program-dropped' });
  });
}
