import { findUnplayable, lockPatient, schedulePlanning } from '../attention/patientChanged.js';
import {
  programsWithNewest,
  readProgramState,
  type SignedContent,
  verifySignedContent,
} from '../attention/signed.js';
import type { Db } from '../engine/openStore.js';
import { clearUnplayable } from './prescriptions.js';

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
