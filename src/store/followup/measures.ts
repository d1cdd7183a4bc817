import { randomUUID } from 'node:crypto';
import type { Selectable } from 'kysely';
import type { Db } from '../engine/openStore.js';
import type { FollowUpTables } from '../schema/followUpSchema.js';

/** A value as recorded; a withdrawn one stays in the record, with the reason. */
export type MeasureTaken = Omit<Selectable<FollowUpTables['measureTaken']>, 'patientId'> & {
  by: string;
  withdrawn: { reason: string; by: string; atMs: number } | null;
};
type NewMeasure = Omit<MeasureTaken, 'by' | 'atMs' | 'withdrawn'> & { patientId: string; nowMs: number };

/** A clinic measure, or an activity that a patient chose. */
export type OwnMeasure = Omit<
  Selectable<FollowUpTables['ownMeasure']>,
  'clinicId' | 'clinicianId' | 'createdAtMs'
>;

/** All values ever recorded for a patient, by the day they were taken, oldest first. */
export async function measuresTakenOf(db: Db, patientId: string): Promise<MeasureTaken[]> {
  const rows = await db
    .selectFrom('measureTaken')
    .innerJoin('clinician', 'clinician.id', 'measureTaken.clinicianId')
    .leftJoin('measureWithdrawn', 'measureWithdrawn.measureTakenId', 'measureTaken.id')
    .leftJoin('clinician as withdrawer', 'withdrawer.id', 'measureWithdrawn.clinicianId')
    .selectAll('measureTaken')
    .select([
      'clinician.name as by',
      'measureWithdrawn.reason as reason',
      'measureWithdrawn.atMs as withdrawnAtMs',
      'withdrawer.name as withdrawer',
    ])
    .where('measureTaken.patientId', '=', patientId)
    .orderBy('measureTaken.takenOn')
    .orderBy('measureTaken.atMs')
    .orderBy('measureTaken.id')
    .execute();
  return rows.map(({ patientId: _patientId, reason, withdrawnAtMs, withdrawer, ...row }) => ({
    ...row,
    withdrawn:
      reason === null || withdrawnAtMs === null
        ? null
        : { reason, by: withdrawer ?? '', atMs: withdrawnAtMs },
  }));
}

/**
 * Stores a value for a patient whom the caller has locked. The same value sent twice under one id is stored once; a
 * different one under a taken id gets a new id, so that nothing is lost.
 *
 * @returns its id, and whether it was stored just now
 */
export async function saveMeasure(db: Db, entry: NewMeasure): Promise<{ id: string; isNew: boolean }> {
  const { nowMs, ...columns } = entry;
  const known = await db
    .selectFrom('measureTaken')
    .select(['patientId', 'measureId', 'value', 'entered', 'takenOn', 'note'])
    .where('id', '=', entry.id)
    .executeTakeFirst();
  const isSame =
    known !== undefined &&
    (Object.keys(known) as (keyof typeof known)[]).every((column) => known[column] === entry[column]);
  if (isSame) return { id: entry.id, isNew: false };
  const id = known === undefined ? entry.id : randomUUID();
  await db
    .insertInto('measureTaken')
    .values({ ...columns, id, atMs: nowMs })
    .execute();
  return { id, isNew: true };
}

/** Withdraws a value. @returns false if the patient has no such value, or it was already withdrawn */
export async function withdrawMeasure(
  db: Db,
  patientId: string,
  withdrawn: { id: string; reason: string; clinicianId: string; nowMs: number },
): Promise<boolean> {
  const { id, reason, clinicianId, nowMs } = withdrawn;
  const found = await db
    .selectFrom('measureTaken')
    .select('id')
    .where('id', '=', id)
    .where('patientId', '=', patientId)
    .executeTakeFirst();
  if (found === undefined) return false;
  const result = await db
    .insertInto('measureWithdrawn')
    .values({ measureTakenId: id, reason, clinicianId, atMs: nowMs })
    .onConflict((conflict) => conflict.column('measureTakenId').doNothing())
    .executeTakeFirst();
  return result.numInsertedOrUpdatedRows === 1n;
}

/** A clinic's measures and one patient's activities, including stopped ones, in order. */
export async function ownMeasuresOf(
  db: Db,
  { clinicId, patientId }: { clinicId: string; patientId: string },
): Promise<OwnMeasure[]> {
  return db
    .selectFrom('ownMeasure')
    .select(['id', 'patientId', 'name', 'unit', 'least', 'most', 'better', 'endedAtMs'])
    .where('clinicId', '=', clinicId)
    .where(({ eb, or }) => or([eb('patientId', '=', patientId), eb('patientId', 'is', null)]))
    .orderBy('createdAtMs')
    .orderBy('id')
    .execute();
}

export async function addOwnMeasure(
  db: Db,
  added: Omit<OwnMeasure, 'id' | 'endedAtMs'> & { clinicId: string; clinicianId: string; nowMs: number },
): Promise<string> {
  const { nowMs, ...columns } = added;
  const id = randomUUID();
  await db
    .insertInto('ownMeasure')
    .values({ id, ...columns, createdAtMs: nowMs, endedAtMs: null })
    .execute();
  return id;
}

/**
 * Stops a measure: earlier values stay. A clinic measure is stopped for everyone.
 *
 * @returns false if neither the patient nor the clinic has such an active measure
 */
export async function endOwnMeasure(
  db: Db,
  { clinicId, patientId }: { clinicId: string; patientId: string },
  { id, nowMs }: { id: string; nowMs: number },
): Promise<boolean> {
  const result = await db
    .updateTable('ownMeasure')
    .set({ endedAtMs: nowMs })
    .where('id', '=', id)
    .where('clinicId', '=', clinicId)
    .where(({ eb, or }) => or([eb('patientId', '=', patientId), eb('patientId', 'is', null)]))
    .where('endedAtMs', 'is', null)
    .executeTakeFirst();
  return result.numUpdatedRows === 1n;
}
