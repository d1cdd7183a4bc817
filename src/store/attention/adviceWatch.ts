import type { Db } from '../engine/openStore.js';
import type { AdviceWaits } from '../schema/followUpSchema.js';
import { lockPatient, refreshAttention } from './patientChanged.js';

/** Pending recomputations: for whom, and by when. */
export type ToLookAt = { patientId: string; clinicId: string; lookAtMs: number };

/** Patients whose advice is due for recomputation, longest waiting first. */
export async function listPatientsToAdvise(db: Db, nowMs: number, most: number): Promise<ToLookAt[]> {
  return db
    .selectFrom('adviceWatch')
    .select(['patientId', 'clinicId', 'lookAtMs'])
    .where('lookAtMs', '<=', nowMs)
    .orderBy('lookAtMs')
    .orderBy('patientId')
    .limit(most)
    .execute();
}

/**
 * Claims one of them: whatever changes from here on causes another recomputation. Two processes may claim the same one
 * at the same time, with the same result.
 *
 * @param nextMs when the passing of time alone causes a recomputation
 */
export async function claimAdvising(db: Db, patientId: string, nextMs: number): Promise<void> {
  await db.updateTable('adviceWatch').set({ lookAtMs: nextMs }).where('patientId', '=', patientId).execute();
}

/**
 * Whether there can be any advice: something was reported about a patient, or a program has been active since a given
 * time and nothing was.
 */
export async function mayBeAdvised(db: Db, patientId: string, signedBeforeMs: number): Promise<boolean> {
  const signed = await db
    .selectFrom('prescriptionVersion')
    .innerJoin('prescription', 'prescription.id', 'prescriptionVersion.prescriptionId')
    .select('prescription.id')
    .where('prescription.patientId', '=', patientId)
    .where('prescriptionVersion.signedAtMs', '<', signedBeforeMs)
    .limit(1)
    .executeTakeFirst();
  if (signed !== undefined) return true;
  for (const table of ['listened', 'checkIn', 'notToday', 'warning'] as const) {
    const reported = await db
      .selectFrom(table)
      .select('patientId')
      .where('patientId', '=', patientId)
      .limit(1)
      .executeTakeFirst();
    if (reported !== undefined) return true;
  }
  return false;
}

/** Records the advice that waits for an answer, null for none; its date stays while the advice is the same. */
export async function saveWaitingAdvice(
  db: Db,
  patientId: string,
  { waits, nowMs }: { waits: AdviceWaits | null; nowMs: number },
): Promise<void> {
  await lockPatient(db, patientId);
  const before = await db
    .selectFrom('adviceWatch')
    .select('waits')
    .where('patientId', '=', patientId)
    .executeTakeFirst();
  if (before === undefined || before.waits === waits) return;
  const sinceMs = waits === null ? null : nowMs;
  await db.updateTable('adviceWatch').set({ waits, sinceMs }).where('patientId', '=', patientId).execute();
  await refreshAttention(db, patientId);
}
