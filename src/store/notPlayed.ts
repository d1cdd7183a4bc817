import { lockPatient } from './lockPatient.js';
import type { Db } from './openStore.js';
import { planSoon } from './reminderWatch.js';

/**
 * Programs that run and cannot be played as they were signed, each with when that was found. They stand among what
 * needs attention, so that every process and every page knows the same; nothing of them is played or reminded of.
 */
export async function notPlayedOf(db: Db, patientIds: readonly string[]): Promise<Map<string, number>> {
  if (patientIds.length === 0) return new Map();
  const rows = await db
    .selectFrom('attention')
    .innerJoin('prescription', 'prescription.id', 'attention.subject')
    .select(['attention.subject', 'attention.sinceMs'])
    .where('attention.patientId', 'in', patientIds)
    .where('attention.kind', '=', 'not-playable')
    .where('prescription.state', '=', 'active')
    .execute();
  return new Map(rows.map(({ subject, sinceMs }) => [subject, sinceMs]));
}

/**
 * Writes down which of a patient's programs cannot be played, and takes away what no longer holds; reminders are
 * planned anew. Run it in a transaction.
 */
export async function noteNotPlayed(
  db: Db,
  patientId: string,
  { prescriptionIds, nowMs }: { prescriptionIds: readonly string[]; nowMs: number },
): Promise<void> {
  await lockPatient(db, patientId);
  const patient = await db
    .selectFrom('patient')
    .select('clinicId')
    .where('id', '=', patientId)
    .executeTakeFirst();
  if (patient === undefined) return;
  const before = await notPlayedOf(db, [patientId]);
  await db
    .deleteFrom('attention')
    .where('patientId', '=', patientId)
    .where('kind', '=', 'not-playable')
    .execute();
  for (const subject of prescriptionIds) {
    const sinceMs = before.get(subject) ?? nowMs;
    const { clinicId } = patient;
    await db
      .insertInto('attention')
      .values({ clinicId, patientId, kind: 'not-playable', subject, sinceMs })
      .execute();
  }
  await planSoon(db, patientId);
}

/** A version that was just signed was read and laid out whole. */
export async function forgetNotPlayed(db: Db, prescriptionId: string): Promise<void> {
  await db
    .deleteFrom('attention')
    .where('kind', '=', 'not-playable')
    .where('subject', '=', prescriptionId)
    .execute();
}

/** A program that runs, with its newest version. */
export type RunningVersion = { prescriptionId: string; patientId: string; number: number; content: string };

/** The programs of all clinics that run, some at a time, in the order of their ids. */
export async function runningVersionsAfter(db: Db, afterId: string, most: number): Promise<RunningVersion[]> {
  return db
    .selectFrom('prescription')
    .innerJoin('prescriptionVersion as version', (join) =>
      join
        .onRef('version.prescriptionId', '=', 'prescription.id')
        .onRef('version.number', '=', 'prescription.newestVersion'),
    )
    .select(['prescription.id as prescriptionId', 'prescription.patientId'])
    .select(['version.number', 'version.content'])
    .where('prescription.state', '=', 'active')
    .where('prescription.id', '>', afterId)
    .orderBy('prescription.id')
    .limit(most)
    .execute();
}
