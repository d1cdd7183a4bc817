import type { Db } from '../engine/openStore.js';
import type { AdviceWaits } from '../schema/followUpSchema.js';
import { refreshAttention } from './attention.js';
import { lockPatient } from './lockPatient.js';

/** What waits to be looked at: whose, and by when. */
export type ToLookAt = { patientId: string; clinicId: string; lookAtMs: number };

/** What is advised about a patient is worked out again as soon as possible: something was told, signed or answered. */
export async function scheduleAdvice(db: Db, patientId: string): Promise<void> {
  await db
    .insertInto('adviceWatch')
    .columns(['patientId', 'clinicId', 'lookAtMs'])
    .expression((eb) =>
      eb
        .selectFrom('patient')
        .select(['id', 'clinicId', eb.lit(0).as('lookAtMs')])
        .where('id', '=', patientId),
    )
    .onConflict((conflict) => conflict.column('patientId').doUpdateSet({ lookAtMs: 0 }))
    .execute();
}

/** Whose advice is to be worked out by now, the longest waiting first. */
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
 * Takes one of them: whatever changes from here on has it worked out once more. Two processes may take the same one at
 * the same time, and find the same.
 *
 * @param nextMs when time alone has it worked out again
 */
export async function claimAdvising(db: Db, patientId: string, nextMs: number): Promise<void> {
  await db.updateTable('adviceWatch').set({ lookAtMs: nextMs }).where('patientId', '=', patientId).execute();
}

/**
 * Whether there can be anything to advise: something was told of a patient, or a program has run since before a moment
 * and nothing was.
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

/** Records what waits for an answer, null for nothing; since when stays as long as it is the same. */
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
