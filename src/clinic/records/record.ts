import { z } from 'zod';
import { looseProgram, valueAtPath } from '../../prescription/looseProgram.js';
import { auditActor } from '../../store/accounts/audit.js';
import { openWarningSince } from '../../store/attention/patientChanged.js';
import { againAfterDeadlock } from '../../store/engine/deadlock.js';
import type { Db } from '../../store/engine/openStore.js';
import { type Patient, prescriptionsOf, versionsOf } from '../../store/people/chart.js';
import { cleanUpErased, erasePatient } from '../../store/records/erasure.js';
import { erasureReasons } from '../../store/schema/peopleSchema.js';
import { type Actor, requireMayWrite, requireOwner } from '../actor.js';
import { findOwnPatient } from '../people/chart.js';
import { refused } from '../refusals.js';
import type { Resources } from '../resources/resources.js';
import { fhirOf } from './fhirRecord.js';
import { type RecordResources, recordContext } from './readRecord.js';
import { type RecordReadme, recordTables, recordZip } from './recordFiles.js';

/**
 * Exports everything about a patient as one ZIP archive, complete or not at all. The export is logged first.
 *
 * @throws Refused if the clinic has no such patient
 */
export async function exportRecord(
  service: RecordResources,
  actor: Actor,
  { patientId, readme }: { patientId: string; readme: RecordReadme },
): Promise<Buffer> {
  return recordZip(await contextFor(service, actor, patientId), readme);
}

/** The same record as a FHIR bundle, as far as FHIR can represent it. Errors as for {@link exportRecord}. */
export async function exportFhir(service: RecordResources, actor: Actor, patientId: string) {
  return fhirOf(await contextFor(service, actor, patientId));
}

/** One table of it, as CSV. Errors as for {@link exportRecord}, and if there is no such table. */
export async function exportTable(
  service: RecordResources,
  actor: Actor,
  patientId: string,
  name: string,
): Promise<Buffer> {
  const context = await contextFor(service, actor, patientId);
  const table = recordTables(context).find((each) => each.name === name);
  if (table === undefined) throw refused('no-such-table');
  const parts: Buffer[] = [];
  for await (const part of table.text()) parts.push(Buffer.from(part));
  return Buffer.concat(parts);
}

async function contextFor(service: RecordResources, actor: Actor, patientId: string) {
  const { clinicId } = actor.clinician;
  const patient = await service.store.write(async (db) => {
    const found = await findOwnPatient(db, actor, patientId);
    await auditActor(db, actor, { patientId, subject: patientId, action: 'record-exported' });
    return found;
  });
  return recordContext(service, { clinicId, patient, nowMs: actor.nowMs });
}

export const erasingSchema = z.strictObject({
  /** As it is in the record. */
  name: z.string().max(500),
  why: z.enum(erasureReasons, { error: 'choose one' }),
});

/**
 * Erases everything about a patient, including rendered sessions that speak the name. Only an owner may, on a page, and
 * not while a warning sign is unanswered.
 *
 * @returns whether the rendered sessions are gone too; if not, the sound cache must be deleted
 * @throws Refused for others, or if there is no such patient; also for a different name
 */
export async function eraseRecord(
  service: Pick<Resources, 'store' | 'hearing' | 'shelf' | 'incidents'>,
  actor: Actor,
  patientId: string,
  { name, why }: z.infer<typeof erasingSchema>,
): Promise<boolean> {
  requireMayWrite(actor);
  requireOwner(actor);
  if (actor.accessKeyId !== null) throw refused('erase-on-page-only');
  const { store, shelf, hearing, incidents } = service;
  const { clinicId, id: clinicianId } = actor.clinician;
  const spoken = await againAfterDeadlock(() =>
    store.write(async (db) => {
      const patient = await findOwnPatient(db, actor, patientId);
      requireName(patient, name);
      const wordings = await wordingsOf(db, clinicId, patient);
      const erasure = { patientId, clinicId, clinicianId, why, atMs: actor.nowMs };
      // Checked when no more can arrive: a sign reported at this moment must not go unseen.
      const isErased = await erasePatient(db, store.kind, erasure, () => requireAnswered(db, patientId));
      if (!isErased) throw refused('no-such-person');
      await auditActor(db, actor, { patientId, subject: patientId, action: 'record-erased' });
      return wordings;
    }),
  );
  hearing.forget(clinicId);
  const onFailure = (error: unknown) =>
    incidents.report({ code: 'housekeeping-failed', what: 'made sessions not erased', error });
  const { now, later } = shelf.forget(spoken);
  later.catch(onFailure);
  try {
    await store.read((db) => cleanUpErased(db, store.kind));
    await now;
    return true;
  } catch (error) {
    onFailure(error);
    return false;
  }
}

async function requireAnswered(db: Db, patientId: string): Promise<void> {
  if ((await openWarningSince(db, patientId)) === null) return;
  throw refused('warning-waits');
}

/** Typed with different spaces or composed accents, it is still the same name. */
function requireName(patient: Patient, typed: string): void {
  const plain = (text: string) => text.normalize('NFC').trim().replace(/\s+/g, ' ');
  if (plain(patient.name) === plain(typed)) return;
  throw refused('name-not-matching', { field: 'name' });
}

/** Names spoken in a patient's sessions, and sentences a clinician wrote for them, from intact versions. */
async function wordingsOf(db: Db, clinicId: string, patient: Patient): Promise<string[]> {
  const wordings = new Set([patient.name, patient.spokenName, patient.sayAs]);
  for (const { id } of await prescriptionsOf(db, clinicId, patient.id)) {
    for (const { content } of await versionsOf(db, id)) {
      if (content === null) continue;
      const { program } = Object(JSON.parse(content));
      const listener = valueAtPath(program, 'listener.name');
      if (typeof listener === 'string') wordings.add(listener);
      for (const exercise of looseProgram(program).exercises) wordings.add(exercise.note ?? '');
    }
  }
  return [...wordings].filter((wording) => wording.trim() !== '');
}
