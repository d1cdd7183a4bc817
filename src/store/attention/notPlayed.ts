import type { Db } from '../engine/openStore.js';
import { lockPatient } from './lockPatient.js';
import { schedulePlanning } from './reminderWatch.js';
import {
  programColumns,
  programsWithNewest,
  readProgramState,
  type SignedContent,
  verifySignedContent,
} from './signed.js';

/**
 * Active programs that cannot be played as they were signed, each with the time this was found, so that every process
 * and every page knows the same; they are neither played nor reminded of.
 */
export async function findUnplayable(db: Db, patientIds: readonly string[]): Promise<Map<string, number>> {
  if (patientIds.length === 0) return new Map();
  const rows = await db
    .selectFrom('notPlayable')
    .innerJoin('prescription', 'prescription.id', 'notPlayable.prescriptionId')
    .select(programColumns)
    .select('notPlayable.fromMs')
    .where('notPlayable.patientId', 'in', patientIds)
    .where('notPlayable.untilMs', 'is', null)
    .execute();
  return new Map(
    rows.filter((row) => readProgramState(row) === 'active').map(({ id, fromMs }) => [id, fromMs]),
  );
}

/** From one time to another, or open-ended; `untilMs` is exclusive. */
export type NotPlayable = { fromMs: number; untilMs: number | null };

/** All periods in which a patient's programs could not be played, by program id, in order. */
export async function listUnplayablePeriods(db: Db, patientId: string): Promise<Map<string, NotPlayable[]>> {
  const rows = await db
    .selectFrom('notPlayable')
    .select(['prescriptionId', 'fromMs', 'untilMs'])
    .where('patientId', '=', patientId)
    .orderBy('fromMs')
    .execute();
  const stretches = new Map<string, NotPlayable[]>();
  for (const { prescriptionId, fromMs, untilMs } of rows)
    stretches.set(prescriptionId, [...(stretches.get(prescriptionId) ?? []), { fromMs, untilMs }]);
  return stretches;
}

/**
 * Records which of a patient's programs cannot be played, and that the others can be again; reminders are planned
 * again. Runs in a transaction.
 */
export async function saveUnplayable(
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
  const { clinicId } = patient;
  const before = await findUnplayable(db, [patientId]);
  for (const prescriptionId of before.keys())
    if (!prescriptionIds.includes(prescriptionId)) await clearUnplayable(db, prescriptionId, nowMs);
  await db
    .deleteFrom('attention')
    .where('patientId', '=', patientId)
    .where('kind', '=', 'not-playable')
    .execute();
  for (const subject of prescriptionIds) {
    const sinceMs = before.get(subject) ?? nowMs;
    if (!before.has(subject))
      await db
        .insertInto('notPlayable')
        .values({ prescriptionId: subject, patientId, fromMs: nowMs })
        .onConflict((conflict) =>
          conflict.columns(['prescriptionId', 'fromMs']).doUpdateSet({ untilMs: null }),
        )
        .execute();
    await db
      .insertInto('attention')
      .values({ clinicId, patientId, kind: 'not-playable', subject, sinceMs })
      .execute();
  }
  await schedulePlanning(db, patientId);
}

/**
 * A program can be played again, or is no longer active: a version that was just signed was read and laid out as a
 * whole, and paused or ended programs play nothing. What was due in the meantime stays excused.
 */
export async function clearUnplayable(db: Db, prescriptionId: string, nowMs: number): Promise<void> {
  await db
    .updateTable('notPlayable')
    .set({ untilMs: nowMs })
    .where('prescriptionId', '=', prescriptionId)
    .where('untilMs', 'is', null)
    .execute();
}

/** An active program, with its newest version. */
export type RunningVersion = SignedContent & { prescriptionId: string; patientId: string; number: number };

/** A batch of active programs from all clinics, in order of id, and the last id examined. */
export async function listRunningVersions(
  db: Db,
  afterId: string,
  most: number,
): Promise<{ running: RunningVersion[]; lastId: string | null }> {
  const rows = await programsWithNewest(db)
    .where('prescription.id', '>', afterId)
    .orderBy('prescription.id')
    .limit(most)
    .execute();
  return {
    running: rows
      .filter((row) => readProgramState(row) === 'active')
      .map((row) => ({
        prescriptionId: row.id,
        patientId: row.patientId,
        number: row.newestVersion,
        ...verifySignedContent(row, row),
      })),
    lastId: rows.at(-1)?.id ?? null,
  };
}
