import type { Db } from '../engine/openStore.js';

/** A progress note as signed; days are ISO, both inclusive. */
export type SignedNote = {
  id: string;
  fromDay: string;
  untilDay: string;
  text: string;
  by: string;
  atMs: number;
};

/**
 * Stores a note for a patient whom the caller has locked; it is never changed. Sent twice, it is stored once.
 *
 * @returns false if a note already has this id
 */
export async function saveProgressNote(
  db: Db,
  note: Omit<SignedNote, 'by'> & { patientId: string; clinicianId: string },
): Promise<boolean> {
  const result = await db
    .insertInto('progressNote')
    .values(note)
    .onConflict((conflict) => conflict.column('id').doNothing())
    .executeTakeFirst();
  return result.numInsertedOrUpdatedRows === 1n;
}

/** A patient's notes, newest first. */
export async function notesOf(db: Db, patientId: string): Promise<SignedNote[]> {
  return db
    .selectFrom('progressNote')
    .innerJoin('clinician', 'clinician.id', 'progressNote.clinicianId')
    .select([
      'progressNote.id as id',
      'progressNote.fromDay as fromDay',
      'progressNote.untilDay as untilDay',
      'progressNote.text as text',
      'progressNote.atMs as atMs',
      'clinician.name as by',
    ])
    .where('progressNote.patientId', '=', patientId)
    .orderBy('progressNote.atMs', 'desc')
    .orderBy('progressNote.id')
    .execute();
}
