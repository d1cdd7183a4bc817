import { type Selectable, sql } from 'kysely';
import { workError } from '../../errors/stillcountError.js';
import type { Db } from '../engine/openStore.js';
import { isOfPatient, patientTables } from '../people/patientTables.js';
import type { DatabaseKind } from '../schema/migrations.js';
import type { Database } from '../schema/schema.js';

export type Erasure = Selectable<Database['erasure']>;
export type ShownErasure = Erasure & { clinicianName: string };

const mostListed = 1_000;
/** A reader is usually done within a moment. */
const [mostTries, againAfterMs] = [20, 100];

/**
 * Erases everything about a patient whom the caller has checked to be of the clinic: their row and everything that
 * depends on it, with links and addresses of caregivers who are in no one else's record. What remains is that it was
 * done, when, by whom and for what kind of reason, and the activity log, which contains only ids. Runs in a
 * transaction, and again after a deadlock: a concurrent writer may hold what it waits for.
 *
 * @param check called once nothing new can be written about them, and before anything is deleted; may throw
 * @returns false if they have already been erased
 */
export async function erasePatient(
  db: Db,
  kind: DatabaseKind,
  erasure: Erasure,
  check: () => Promise<void> = async () => {},
): Promise<boolean> {
  const { patientId } = erasure;
  // Planning and sending lock these first and then the patient, and so does this.
  for (const table of ['reminderWatch', 'delivery'] as const) {
    await db.deleteFrom(table).where('patientId', '=', patientId).execute();
  }
  let patient = db.selectFrom('patient').select('id').where('id', '=', patientId);
  // From here on, nothing new can be written about them until they are gone.
  if (kind === 'postgres') patient = patient.forUpdate();
  if ((await patient.executeTakeFirst()) === undefined) return false;
  await check();
  await db.insertInto('erasure').values(erasure).execute();
  for (const table of patientTables) {
    await sql`delete from ${sql.table(table)} where ${isOfPatient(table, patientId)}`.execute(db);
  }
  return true;
}

/**
 * Removes all traces of erased data from the files of a single-file database; others clean up by themselves.
 *
 * @throws StillcountError kind `work` while someone else reads the database, whose view still holds the log
 */
export async function cleanUpErased(db: Db, kind: DatabaseKind): Promise<void> {
  if (kind !== 'sqlite') return;
  for (let tries = 1; tries <= mostTries; tries += 1) {
    const { rows } = await sql<{ busy: number }>`pragma wal_checkpoint(truncate)`.execute(db);
    if (rows[0]?.busy === 0) return;
    await new Promise((resolve) => setTimeout(resolve, againAfterMs));
  }
  throw workError({ message: 'the database log is still being read by another process' });
}

/** The records a clinic has erased, newest first. */
export async function erasuresOf(db: Db, clinicId: string): Promise<ShownErasure[]> {
  return db
    .selectFrom('erasure')
    .innerJoin('clinician', 'clinician.id', 'erasure.clinicianId')
    .selectAll('erasure')
    .select('clinician.name as clinicianName')
    .where('erasure.clinicId', '=', clinicId)
    .orderBy('erasure.atMs', 'desc')
    .orderBy('erasure.patientId')
    .limit(mostListed)
    .execute();
}
